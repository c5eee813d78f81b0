import { miscountStops } from '../calibration/hands.js';
import type { KitLamp } from '../model/kit.js';
import type { Night } from '../model/night.js';
import type { Light, Reading } from '../model/reading.js';
import { candelaOfPaint, COS_INCIDENCE, USUAL_REFLECTANCE } from '../physics/torch.js';
import { NOTE_DOUBTS } from './notesInDoubt.js';
import type { LearnedLight } from './planLamps.js';

export type { KitLamp } from '../model/kit.js';

/** More frames tell little more; the newest are kept, since batteries and diffusers change. */
const MOST_SAMPLES = 24;

/** Where clipping hides more of the paint than this, its level says too little. */
const MOST_CLIPPED = 0.2;

/** Frames whose regions or notes may be wrong teach nothing. */
const DOUBTFUL = ['uncertain-regions', 'damaged-data', ...NOTE_DOUBTS];

/**
 * What a frame teaches of its lamps: each that stands alone (told apart from several tries, or the only one noted) with its distance and
 * time known. Ground is taken to be as usual, so that a lamp used again on like ground gives like light.
 */
export function lampsLearned(reading: Reading): KitLamp[] {
  const { settings, encoding, lights } = reading;
  const { iso, aperture, shutterSeconds } = settings;
  if (iso === null || aperture === null || shutterSeconds === null) return [];
  if (reading.warnings.some(({ code }) => DOUBTFUL.includes(code))) return [];
  const mark = [settings.camera ?? '', settings.takenAt ?? '', reading.file].join(' ');
  return alone(reading).flatMap(({ name, levelStops }) => {
    const light = lights.find((own) => own.name === name);
    if (light?.distanceM == null || light.power === null || light.power === 0) return [];
    const seconds = light.kind === 'held' ? light.seconds : shutterSeconds;
    if (seconds === null || seconds <= 0) return [];
    const used = { iso, aperture, seconds, distanceM: light.distanceM };
    const candela =
      candelaOfPaint(levelStops, { ...used, reflectance: USUAL_REFLECTANCE, cosIncidence: COS_INCIDENCE }) /
      light.power;
    if (!Number.isFinite(candela) || candela <= 0) return [];
    const miscount = light.kind === 'held' ? miscountStops(seconds) : 0;
    const spreadStops = Number(Math.hypot(encoding.levelUncertaintyStops, miscount, 0.15).toFixed(2));
    return [{ name, kind: light.kind, samples: [{ mark, candela: Number(candela.toPrecision(4)), spreadStops }] }];
  });
}

/** What a night teaches. Its frames are known by their names alone, as when they are read by themselves. */
export function lampsLearnedIn({ frames }: Pick<Night, 'frames'>): KitLamp[] {
  return frames.flatMap((frame) => lampsLearned({ ...frame, file: frame.file.split('/').at(-1)! }));
}

function alone(reading: Reading): { name: string; levelStops: number }[] {
  const { lampShares, lights, regions } = reading;
  if (lampShares !== undefined)
    return lampShares
      .filter(({ lamps, clipsAlone }) => lamps.length === 1 && clipsAlone < MOST_CLIPPED)
      .map(({ lamps, levelStops }) => ({ name: lamps[0]!, levelStops }));
  const { levelStops, clipped } = regions.painted;
  const only: Light | undefined = lights.length === 1 ? lights[0] : undefined;
  if (only === undefined || levelStops === null || clipped.any > MOST_CLIPPED) return [];
  const ambient = regions.unlit.levelStops;
  // Ambient light is in the painted ground too.
  const lamp = 2 ** levelStops - (ambient === null ? 0 : 2 ** ambient);
  return lamp <= 0 ? [] : [{ name: only.name, levelStops: Math.log2(lamp) }];
}

/** The kit with what was learned added: a frame that is read again replaces its earlier word. */
export function withLearned(kit: readonly KitLamp[], fresh: readonly KitLamp[]): KitLamp[] {
  const known = new Map(kit.map((lamp) => [keyOf(lamp), lamp]));
  for (const lamp of fresh) {
    const before = known.get(keyOf(lamp))?.samples ?? [];
    const marks = new Set(lamp.samples.map(({ mark }) => mark));
    const samples = [...before.filter(({ mark }) => !marks.has(mark)), ...lamp.samples].slice(-MOST_SAMPLES);
    known.set(keyOf(lamp), { ...lamp, samples });
  }
  return [...known.values()];
}

function keyOf({ name, kind }: KitLamp): string {
  return `${kind} ${name}`;
}

/** A lamp's strength: the median of its frames; their scatter and each one's own uncertainty give the spread. */
export function strengthLearned({ samples }: KitLamp): LearnedLight {
  const stops = samples.map(({ candela }) => Math.log2(candela)).sort((a, b) => a - b);
  const middle = (stops[(stops.length - 1) >> 1]! + stops[stops.length >> 1]!) / 2;
  const scatter = Math.sqrt(stops.reduce((sum, own) => sum + (own - middle) ** 2, 0) / stops.length);
  const own = samples.reduce((sum, { spreadStops }) => sum + spreadStops, 0) / samples.length;
  return { candela: Number((2 ** middle).toPrecision(3)), spreadStops: Number(Math.max(scatter, own).toFixed(2)) };
}
