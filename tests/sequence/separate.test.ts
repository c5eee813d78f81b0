import { beforeAll, describe, expect, it } from 'vitest';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { REGION } from '../../src/model/regions.js';
import type { LightMap } from '../../src/model/lightMap.js';
import { lightMapOf } from '../../src/measure/lightMap.js';
import type { Light } from '../../src/model/reading.js';
import { advisedAgain } from '../../src/pipeline/answerFrame.js';
import { triedOf, type Tried } from '../../src/pipeline/foretellFrame.js';
import { readOneFrame, type FrameResult } from '../../src/pipeline/readOneFrame.js';
import { applyAdvice } from '../../src/scene/applyAdvice.js';
import { encodeShot } from '../../src/scene/encode.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene, type Scene } from '../../src/scene/shoot.js';
import type { SceneLamp, SceneSettings, SceneSpec } from '../../src/scene/spec.js';
import { placed, placementOf } from '../../src/sequence/align.js';
import { lampLevels } from '../../src/sequence/lampLevels.js';
import { relight } from '../../src/sequence/relight.js';
import { separate, type TryOfSetup } from '../../src/sequence/separate.js';
import { smallScene } from '../support/scenes.js';

/** Seeds with a held and a stand lamp; what the method gives there is measured, not tuned to. */
const SEEDS = [21000, 21005, 21107];
const CHANGES = [
  { iso: 1, held: 1, stand: 1 },
  { iso: 2, held: 0.5, stand: 1 },
  { iso: 1, held: 0.7, stand: 0.4 },
];

interface Case {
  readonly spec: SceneSpec;
  readonly scene: Scene;
  readonly tries: TryOfSetup[];
  readonly settings: SceneSettings;
  readonly lamps: readonly SceneLamp[];
}

const cases: Case[] = [];

beforeAll(async () => {
  for (const seed of SEEDS) {
    const spec = smallScene(seed);
    if (new Set(spec.lamps.map(({ kind }) => kind)).size < 2) throw new Error(`seed ${String(seed)} lacks a lamp`);
    const scene = openScene(spec);
    const tries: TryOfSetup[] = [];
    let settings = spec.settings;
    let lamps = spec.lamps;
    for (const [n, { iso, held, stand }] of CHANGES.entries()) {
      settings = { ...spec.settings, iso: Math.min(3200, spec.settings.iso) * iso };
      lamps = lamps.map((lamp) =>
        lamp.kind === 'held' ? { ...lamp, seconds: lamp.seconds * held } : { ...lamp, power: lamp.power * stand },
      );
      const bytes = await encodeShot(scene.shoot(settings, lamps, n + 1), 'srgb16');
      const { grid, regions } = await readOneFrame(bytes, 'x', settings, [], DEFAULT_WISHES, {});
      tries.push({
        map: lightMapOf(grid, regions),
        settings,
        lights: lamps.map(({ name, kind, seconds, distanceM, power }) => ({ name, kind, seconds, distanceM, power })),
      });
    }
    cases.push({ spec, scene, tries, settings, lamps });
  }
});

/** Truth on the cells of a map: green light without noise. */
function truth(
  { spec, scene }: Case,
  settings: SceneSettings,
  lamps: readonly SceneLamp[],
  like: LightMap,
): Float32Array {
  const { clean } = scene.shoot(settings, lamps, 9).truth;
  const sums = new Float32Array(like.width * like.height);
  const counts = new Float32Array(sums.length);
  for (let y = 0; y < spec.heightPx; y++)
    for (let x = 0; x < spec.widthPx; x++) {
      const cell =
        Math.floor((y * like.height) / spec.heightPx) * like.width + Math.floor((x * like.width) / spec.widthPx);
      sums[cell]! += clean[(y * spec.widthPx + x) * 3 + 1]!;
      counts[cell]!++;
    }
  return sums.map((sum, i) => sum / counts[i]!);
}

const middle = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;

describe('lamps told apart from three tries of a setup', () => {
  it('give each lamp its level over the land that it lights (median within 0.25 stop)', () => {
    const errors: number[] = [];
    for (const own of cases) {
      const separation = separate(own.tries)!;
      const { map } = own.tries.at(-1)!;
      const none = truth(own, own.settings, [], map);
      const all = truth(own, own.settings, own.lamps, map);
      for (const lamp of own.lamps) {
        const alone = truth(own, own.settings, [lamp], map).map((value, i) => value - none[i]!);
        const lit = [...alone.keys()].filter((i) => alone[i]! > 0.4 * all[i]! && alone[i]! > 2 ** -9 && all[i]! < 0.9);
        const layer = separation.layers.find(({ lamps }) => lamps.includes(lamp.name))!;
        if (lit.length < 400 || layer.lamps.length > 1) continue;
        errors.push(
          Math.abs(Math.log2(middle(lit.map((i) => layer.planes[1][i]!)) / middle(lit.map((i) => alone[i]!)))),
        );
      }
    }
    expect(errors.length).toBeGreaterThanOrEqual(4);
    expect(middle(errors)).toBeLessThan(0.25);
  });

  it('foretell a frame that was not shot yet (land, median within 0.2 stop)', () => {
    for (const own of cases) {
      const separation = separate(own.tries)!;
      const { map } = own.tries.at(-1)!;
      const next = {
        settings: { ...own.settings, iso: own.settings.iso * 1.6 },
        lamps: own.lamps.map((lamp) =>
          lamp.kind === 'held' ? { ...lamp, seconds: lamp.seconds * 1.5 } : { ...lamp, power: lamp.power * 0.5 },
        ),
      };
      const gainOf = (names: readonly string[]): number => {
        const gains = names.map(
          (name) => 1.6 * (own.lamps.find((lamp) => lamp.name === name)!.kind === 'held' ? 1.5 : 0.5),
        );
        return gains.length === 0 ? 1.6 : gains.reduce((sum, gain) => sum + gain, 0) / gains.length;
      };
      const foretold = relight(separation.layers, gainOf)[1];
      const came = truth(own, next.settings, next.lamps, map);
      const misses = [...came.keys()]
        .filter(
          (i) =>
            map.regions[i] !== REGION.sky && map.regions[i] !== REGION.source && came[i]! > 2 ** -9 && came[i]! < 0.95,
        )
        .map((i) => Math.abs(Math.log2(Math.max(1e-6, foretold[i]!) / came[i]!)));
      expect(middle(misses)).toBeLessThan(0.2);
    }
  });

  it('say what each lamp alone clips', () => {
    const cells = 400;
    const plane = (value: number): Float32Array => new Float32Array(cells).fill(value);
    const planes = (value: number): LightMap['planes'] => [plane(value), plane(value), plane(value)];
    const back = planes(0.25);
    for (let i = 0; i < 100; i++) back[0][i] = 1.2;
    const map: LightMap = {
      width: 20,
      height: 20,
      planes: planes(1),
      regions: new Uint8Array(cells).fill(REGION.painted),
      burnt: new Uint8Array(cells),
    };
    const layers = [
      { lamps: [], holdsAmbient: true, planes: planes(0.01) },
      { lamps: ['back'], holdsAmbient: false, planes: back },
      { lamps: ['torch'], holdsAmbient: false, planes: planes(0.02) },
    ];
    expect(lampLevels(layers, map)).toEqual([
      { lamps: ['back'], levelStops: -2, clipsAlone: 0.25, areaFraction: 1, hotCell: 0 },
    ]);
    // A lamp that cannot be told from ambient light has no level of its own.
    const mixed = layers.slice(1).map((layer) => ({ ...layer, holdsAmbient: layer.lamps.includes('back') }));
    expect(lampLevels(mixed, map)).toEqual([]);
  });

  it('say which frame would tell, when two lamps never changed apart', () => {
    const [own] = cases;
    const two = [own!.tries[0]!, { ...own!.tries[1]!, lights: own!.tries[0]!.lights }];
    // The count as before, the shutter as before: held and stand lamp went together.
    const { wouldTell, layers } = separate(two)!;
    expect(layers.length).toBeLessThan(3);
    expect(wouldTell).toMatch(/cannot be told apart yet; one frame with(out)? .* would tell\.$/);
  });

  it('need known settings and counts, and two tries', () => {
    const [own] = cases;
    const [one, two] = own!.tries;
    expect(separate([one!])).toBeNull();
    expect(separate([one!, { ...two!, settings: { ...two!.settings, iso: null } }])).toBeNull();
    expect(separate([one!, { ...two!, lights: two!.lights.map((light) => ({ ...light, seconds: null })) }])).toBeNull();
    expect(
      separate([
        { ...one!, lights: [] },
        { ...two!, lights: [] },
      ]),
    ).toBeNull();
  });
});

describe('alignment', () => {
  it.each([
    [0, 0, 0],
    [2.4, -1.3, 0],
    [-0.6, 0.8, 0],
    [1.2, 0.5, 0.012],
  ])('finds a move of %f, %f cells and a turn of %f', (dx, dy, turn) => {
    const { map } = cases[0]!.tries[0]!;
    const moved = placed(map, { dx, dy, turn });
    const found = placementOf(moved, map);
    expect(Math.abs(found.dx - dx)).toBeLessThan(0.35);
    expect(Math.abs(found.dy - dy)).toBeLessThan(0.35);
    expect(Math.abs(found.turn - turn)).toBeLessThan(0.004);
  });
});

describe('advice from lamps told apart', () => {
  // Seven drawn scenes: 0.07 to 0.37 stop off, 0.11 in the median. The first is the worst of them.
  it('offers to change one lamp alone, and foretells what that gives', async () => {
    const off: number[] = [];
    for (const seed of [21000, 21001, 21003]) off.push(await forecastOff(seed));
    off.sort((a, b) => a - b);
    expect(off[1]).toBeLessThan(0.25);
  });
});

/** How far the balance foretold for the option that changes one lamp alone is from what it gives, stops. */
async function forecastOff(seed: number): Promise<number> {
  // The torch is right; the stand lamp is a stop and a half too bright.
  const changes = { skyStops: -4, moon: false, cloud: 0, blade: false, headlamp: false };
  const spec = { ...randomScene(seed, { widthPx: 1296, heightPx: 864 }), ...changes };
  const [held, stand] = ['held', 'stand'].map((kind) => spec.lamps.find((lamp) => lamp.kind === kind)!);
  const lampsNow = (seconds: number, power: number): SceneLamp[] => [
    { ...held!, levelStops: -3, seconds, power: 1, distanceM: 7, visible: false },
    { ...stand!, levelStops: -1.2, power, distanceM: 9, visible: false },
  ];
  const scene = openScene({ ...spec, lamps: lampsNow(3, 0.5) });
  const tried: Tried[] = [];
  let last: FrameResult | null = null;
  const lightsOf = (lamps: readonly SceneLamp[]): Light[] =>
    lamps.map(({ name, kind, seconds, distanceM, power }) => ({
      name,
      kind,
      seconds: kind === 'held' ? seconds : null,
      distanceM,
      power,
    }));
  for (const [n, [seconds, power]] of (
    [
      [6, 0.5],
      [3, 0.25],
      [3, 0.5],
    ] as const
  ).entries()) {
    const lamps = lampsNow(seconds, power);
    const bytes = await encodeShot(scene.shoot(spec.settings, lamps, n + 1), 'jpeg');
    last = await readOneFrame(bytes, 'x', {}, lightsOf(lamps), DEFAULT_WISHES);
    tried.push(triedOf(last));
  }
  const reading = advisedAgain(last!, lightsOf(lampsNow(3, 0.5)), DEFAULT_WISHES, [], tried);
  expect(reading.lampShares!.length).toBeGreaterThan(0);
  const alone = reading.advice.options.find(
    ({ changes }) => new Set(changes.flatMap(({ light }) => light ?? [])).size === 1,
  );
  expect(alone).toBeDefined();
  const { settings, lamps } = applyAdvice(alone!, spec.settings, lampsNow(3, 0.5));
  const after = await readOneFrame(
    await encodeShot(scene.shoot(settings, lamps, 9), 'jpeg'),
    'x',
    {},
    lightsOf(lamps),
    DEFAULT_WISHES,
  );
  return Math.abs(after.reading.balance.stops! - alone!.predicted.balanceStops!);
}
