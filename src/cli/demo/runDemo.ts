import { join } from 'node:path';
import type { Light, Reading } from '../../model/reading.js';
import { DEFAULT_WISHES } from '../../model/wishes.js';
import type { FrameResult } from '../../pipeline/readOneFrame.js';
import { readPair } from '../../pipeline/readPair.js';
import { framePicture } from '../../present/picture/framePicture.js';
import { readingAsText } from '../../present/terminal.js';
import { applyAdvice } from '../../scene/applyAdvice.js';
import { demoNight, demoScene, demoSetup, type DemoShot } from '../../scene/demoNight.js';
import { encodeShot } from '../../scene/encode.js';
import { buildLand, type Land } from '../../scene/land.js';
import { openScene, type Shot } from '../../scene/shoot.js';
import { isDemoFrame, writeOwn, writePng } from '../../machine/files.js';
import { unpackRawApart } from '../../machine/rawDecoder.js';
import { skyNetwork } from '../../machine/skyNetwork.js';
import type { World } from '../world.js';

/** The demo stops after this many tries even when it is not balanced. */
const MOST_TRIES = 3;

export async function runDemo(red: boolean, folder: string | null, world: World): Promise<void> {
  const spec = demoScene();
  const say = (text: string): void => {
    world.out(`${text}\n`);
  };
  say(
    'A demo night, all invented: a dry-stone hut on a moor, a torch counted by hand, a lamp on a stand behind the hut. Each try is a raw file and its JPEG.\n',
  );
  world.progress('building the moor ...');
  const scene = openScene(spec);
  let settings = spec.settings;
  let lamps = spec.lamps;
  const history: Reading[] = [];
  for (let shot = 1; shot <= MOST_TRIES; shot++) {
    world.progress(`shooting try ${String(shot)} ...`);
    const name = `moor-${String(411 + shot).padStart(4, '0')}`;
    const result = await readShot(scene.shoot(settings, lamps, shot), name, folder);
    const { reading } = result;
    history.push(reading);
    world.progress(null);
    const counts = lamps.map((lamp) =>
      lamp.kind === 'held'
        ? `${lamp.name} counted ${String(lamp.seconds)} s`
        : `${lamp.name} lamp at ${String(lamp.power * 100)} % and ${String(lamp.distanceM)} m`,
    );
    say(`== Try ${String(shot)}: ${counts.join(', ')} ==`);
    say(readingAsText(reading, world.columns, world.look(red)));
    if (folder !== null)
      await writePng(
        join(folder, `try-${String(shot)}.png`),
        framePicture(reading, result.grid, result.regions, result.shapes),
      );
    const option = reading.advice.options[0];
    if (reading.advice.verdict === 'balanced' || option === undefined) break;
    ({ settings, lamps } = applyAdvice(option, settings, lamps));
  }
  say(conclusion(history));
}

export async function writeNight(folder: string, world: World): Promise<void> {
  const lands = new Map<DemoShot['setup'], Land>();
  const shots = demoNight();
  for (const [n, { name, setup, settings, lamps, turnedDeg, takenAt }] of shots.entries()) {
    world.progress(`shooting ${String(n + 1)} of ${String(shots.length)} ...`);
    const spec = demoSetup(setup);
    const land = lands.get(setup) ?? buildLand(spec);
    lands.set(setup, land);
    const scene = openScene({ ...spec, siderealDeg: spec.siderealDeg + turnedDeg }, land);
    const shot = scene.shoot(settings, lamps, n + 1);
    for (const [ending, kind] of [
      ['dng', 'raw'],
      ['jpg', 'camera'],
    ] as const)
      await writeOwn(join(folder, `${name}.${ending}`), await encodeShot(shot, kind, undefined, takenAt), isDemoFrame);
  }
  world.progress(null);
  world.note(
    `wrote ${String(shots.length)} frames to ${folder}; read them with: paintstop night ${folder} --lat 38 --lon -3`,
  );
}

async function readShot(shot: Shot, name: string, folder: string | null): Promise<FrameResult> {
  const lights: Light[] = shot.lamps.map(({ name, kind, seconds, distanceM, power }) => ({
    name,
    kind,
    seconds: kind === 'held' ? seconds : null,
    distanceM,
    power,
  }));
  const raw = { bytes: await encodeShot(shot, 'raw'), file: `${name}.dng` };
  const jpeg = { bytes: await encodeShot(shot, 'camera'), file: `${name}.jpg` };
  if (folder !== null)
    for (const { bytes, file } of [raw, jpeg]) await writeOwn(join(folder, file), bytes, isDemoFrame);
  const tools = { unpackRaw: unpackRawApart, network: skyNetwork };
  return (await readPair(raw, jpeg, name, {}, lights, DEFAULT_WISHES, tools)).result;
}

function conclusion(history: readonly Reading[]): string {
  const [before, after] = [history[0]!, history[history.length - 1]!];
  const figures = (reading: Reading): string =>
    `sky ${String(reading.regions.sky.levelStops)} stops, paint ${String(reading.balance.stops)} over it, ${(reading.regions.painted.clipped.any * 100).toFixed(2)} % of the paint clipped`;
  const verdict =
    after.advice.verdict === 'balanced'
      ? 'The advice was followed and the next frame came out balanced.'
      : 'The advice was followed.';
  return `${verdict}\n  before: ${figures(before)}\n  after:  ${figures(after)}`;
}
