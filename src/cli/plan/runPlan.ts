import { PaintstopError, printable } from '../../errors.js';
import { readBytes, refuseForeign, sameFile, writeOwn, writePng } from '../../machine/files.js';
import type { Plan } from '../../model/plan.js';
import type { Reading } from '../../model/reading.js';
import { DEFAULT_WISHES } from '../../model/wishes.js';
import { USUAL_REFLECTANCE } from '../../physics/torch.js';
import { planNight } from '../../pipeline/planNight.js';
import { readOneFrame } from '../../pipeline/readOneFrame.js';
import { planAsJson } from '../../present/json.js';
import { PLAN_SVG_MARK, planPng, planSvg } from '../../present/plan/planPictures.js';
import { planAsText } from '../../present/plan/planText.js';
import { knownKit } from '../../machine/kitStore.js';
import { configFolder } from '../../machine/ownStore.js';
import type { BoxedLamp } from '../../pipeline/planLamps.js';
import { distinctLights } from '../lampOptions.js';
import { withKit, type NamedLamp } from './boxedLamp.js';
import { placeOptionsOf, type PlaceOptions } from '../placeOptions.js';
import { readTools } from '../readTools.js';
import type { World } from '../world.js';

export interface PlanOptions extends PlaceOptions {
  readonly date?: string;
  readonly like?: string;
  readonly sky?: number;
  readonly ground?: number;
  readonly torch: readonly (BoxedLamp | NamedLamp)[];
  readonly standLamp: readonly (BoxedLamp | NamedLamp)[];
  readonly aperture?: number;
  readonly focal?: number;
  readonly pixelPitch?: number;
  readonly targetSky?: number;
  readonly targetBalance?: number;
  readonly maxIso?: number;
  readonly maxShutter?: number;
  readonly trailPx?: number;
  readonly chart?: string;
  readonly json?: boolean;
  readonly red?: boolean;
}

/** Where nothing is told: a common wide lens on a full-frame sensor, a good dark site. */
const USUAL = {
  aperture: 2.8,
  focalMm: 14,
  pixelPitchUm: 6,
  sensorMm: { width: 36, height: 24 },
  skyMagnitude: 21.5,
  reflectance: USUAL_REFLECTANCE,
};

export async function runPlan(options: PlanOptions, world: World): Promise<void> {
  const told = placeOptionsOf(options);
  const chart = options.chart === undefined ? null : chartKind(options.chart);
  if (options.like !== undefined && options.chart !== undefined && (await sameFile(options.like, options.chart)))
    throw new PaintstopError(
      'wrong-use',
      `${printable(options.chart)} is the frame to read`,
      'give another name for what is written',
    );
  if (chart !== null) await refuseForeign(options.chart!, chart === 'svg' ? isPlanSvg : undefined);
  const like = options.like === undefined ? null : await readLike(options.like, world);
  const place = like?.settings.position ?? null;
  const latitudeDeg = told.latitudeDeg ?? place?.latitudeDeg;
  const longitudeDeg = told.longitudeDeg ?? place?.longitudeDeg;
  if (latitudeDeg === undefined || longitudeDeg === undefined)
    throw new PaintstopError(
      'wrong-use',
      'The place is not known',
      'give --lat and --lon, or --like with a frame that holds its place',
    );
  if (options.date === undefined)
    throw new PaintstopError('wrong-use', 'The evening is not known', 'give its date, like --date 2026-07-14');
  const settings = like?.settings;
  const pixelPitchUm = options.pixelPitch ?? settings?.pixelPitchUm ?? USUAL.pixelPitchUm;
  const pixelsIn = (mm: number): number => Math.round((mm * 1000) / pixelPitchUm);
  const plan = planNight({
    latitudeDeg,
    longitudeDeg,
    zone: told.zone,
    date: options.date,
    skyMagnitude: options.sky ?? USUAL.skyMagnitude,
    lens: {
      aperture: options.aperture ?? settings?.aperture ?? USUAL.aperture,
      focalMm: options.focal ?? settings?.focalMm ?? USUAL.focalMm,
      pixelPitchUm,
      widthPx: settings?.widthPx ?? pixelsIn(USUAL.sensorMm.width),
      heightPx: settings?.heightPx ?? pixelsIn(USUAL.sensorMm.height),
    },
    like,
    wishes: {
      ...DEFAULT_WISHES,
      skyTargetStops: options.targetSky ?? DEFAULT_WISHES.skyTargetStops,
      balanceTargetStops: options.targetBalance ?? DEFAULT_WISHES.balanceTargetStops,
      maxIso: options.maxIso ?? DEFAULT_WISHES.maxIso,
      maxShutterSeconds: options.maxShutter ?? DEFAULT_WISHES.maxShutterSeconds,
      trailPxAllowed: options.trailPx ?? DEFAULT_WISHES.trailPxAllowed,
    },
    lamps: withKit(distinctLights([...options.torch, ...options.standLamp]), await knownKit(configFolder())),
    reflectance: options.ground ?? USUAL.reflectance,
  });
  world.out(
    options.json === true ? `${planAsJson(plan)}\n` : planAsText(plan, world.columns, world.look(options.red === true)),
  );
  if (chart !== null) await writeChart(options.chart!, chart, plan, world);
}

async function readLike(file: string, world: World): Promise<Reading> {
  world.progress(`reading ${printable(file)} ...`);
  try {
    return (await readOneFrame(await readBytes(file), file, {}, [], DEFAULT_WISHES, await readTools())).reading;
  } finally {
    world.progress(null);
  }
}

function chartKind(path: string): 'png' | 'svg' {
  const ending = /\.(png|svg)$/i.exec(path)?.[1]?.toLowerCase();
  if (ending !== 'png' && ending !== 'svg')
    throw new PaintstopError(
      'wrong-use',
      `--chart ${printable(path)} ends neither in .png nor in .svg`,
      'name it one of the two',
    );
  return ending;
}

function isPlanSvg(head: Buffer): boolean {
  return head.includes(PLAN_SVG_MARK);
}

async function writeChart(path: string, kind: 'png' | 'svg', plan: Plan, world: World): Promise<void> {
  if (kind === 'png') {
    const bytes = planPng(plan);
    if (bytes === null) world.note('There is no night to draw, so no chart was written.');
    else {
      await writePng(path, bytes);
      world.note(`wrote ${printable(path)}`);
    }
    return;
  }
  const text = planSvg(plan);
  if (text === null) world.note('There is no night to draw, so no chart was written.');
  else {
    await writeOwn(path, Buffer.from(text), isPlanSvg);
    world.note(`wrote ${printable(path)}`);
  }
}
