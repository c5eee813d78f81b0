import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/math/random.js';
import { toneSampleOf } from '../../src/measure/toneSample.js';
import type { Settings } from '../../src/model/frame.js';
import type { Light } from '../../src/model/reading.js';
import { REGION } from '../../src/model/regions.js';
import type { ToneSample } from '../../src/model/toneSample.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { linearToSrgb, srgbToLinear } from '../../src/physics/encoding.js';
import { encodeShot } from '../../src/scene/encode.js';
import { openScene } from '../../src/scene/shoot.js';
import { curveFromTries, type ToneTry } from '../../src/sequence/curveFromTries.js';
import { smallScene } from '../support/scenes.js';

const TORCH: Light = { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 };

function settingsOf(iso: number): Settings {
  return {
    iso,
    shutterSeconds: 20,
    aperture: 2.8,
    focalMm: 14,
    pixelPitchUm: 6,
    widthPx: 100,
    heightPx: 100,
    takenAt: null,
    camera: 'Tarn 1',
    lens: null,
    position: null,
  };
}

/** Light of known amounts through a known response: the worked case of Debevec and Malik's equations, whose answer is the response. */
function worked(response: (light: number) => number, iso: number, paintStops = 0): ToneTry {
  const random = seededRandom(7);
  const codes = new Uint16Array(30_000 * 3);
  const regions = new Uint8Array(30_000);
  for (let i = 0; i < regions.length; i++) {
    const painted = i % 2 === 0;
    regions[i] = painted ? REGION.painted : REGION.sky;
    const stops = painted ? random.between(-8, 0.5) + paintStops : random.between(-8, -3);
    for (let c = 0; c < 3; c++) codes[i * 3 + c] = Math.round(65535 * response(Math.min(1, (2 ** stops * iso) / 1600)));
  }
  return { sample: { codes, regions }, settings: settingsOf(iso), lights: [TORCH] };
}

/** The same without places brighter than two stops under white. */
function dim(response: (light: number) => number, iso: number): ToneTry {
  const tried = worked(response, iso);
  const regions = tried.sample.regions.map((region, i) =>
    tried.sample.codes[i * 3]! > 65535 * response(0.25) ? REGION.source : region,
  );
  return { ...tried, sample: { ...tried.sample, regions } };
}

/** A try under a sky that is brighter by so many stops. */
function drifted(make: typeof worked, iso: number, skyStops: number): ToneTry {
  const [steady, changed] = [make(linearToSrgb, iso), make(linearToSrgb, iso * 2 ** skyStops)];
  const codes = steady.sample.codes.map((code, n) =>
    steady.sample.regions[Math.floor(n / 3)] === REGION.sky ? changed.sample.codes[n]! : code,
  );
  return { ...steady, sample: { ...steady.sample, codes } };
}

describe('the display curve from several JPEGs of a setup', () => {
  // Published response forms: a pure power law (gamma 2.2) and the sRGB curve (IEC 61966-2-1); and a brightened one of our own.
  it.each([
    ['gamma 2.2', (light: number) => light ** (1 / 2.2)],
    ['sRGB', linearToSrgb],
  ])('finds %s', (_, response) => {
    const found = curveFromTries([400, 800, 1600].map((iso) => worked(response, iso)));
    expect(found).not.toBeNull();
    for (const stops of [-6, -4, -3, -2, -1, -0.5])
      expect(Math.abs(found!.stopsOf(255 * response(2 ** stops)) - stops)).toBeLessThan(0.1);
  });

  it('finds differences of light where white is cut off under the sensor, whose own white it cannot know', () => {
    const cut = (light: number): number => linearToSrgb(Math.min(1, light * 2 ** 0.6));
    const found = curveFromTries([400, 800, 1600].map((iso) => worked(cut, iso)))!;
    const at = (stops: number): number => found.stopsOf(255 * cut(2 ** stops));
    for (const stops of [-6, -4, -3]) expect(Math.abs(at(-2) - at(stops) - (-2 - stops))).toBeLessThan(0.1);
    expect(at(-2)).toBeCloseTo(-1.4, 1);
  });

  it('finds a camera-like curve within 0.15 stop from three JPEGs over two stops', async () => {
    const spec = smallScene(38, { skyStops: -5 });
    const scene = openScene(spec);
    const curve = { gainStops: 0.6, contrast: 0.35 };
    const tries: ToneTry[] = [];
    for (const iso of [1, 2, 4].map((times) => (spec.settings.iso / 2) * times)) {
      const shot = scene.shoot({ ...spec.settings, iso }, spec.lamps, iso);
      const bytes = await encodeShot(shot, 'camera', curve);
      const { reading, grid, regions } = await readOneFrame(
        bytes,
        'a.jpg',
        { ...spec.settings, iso },
        [],
        DEFAULT_WISHES,
      );
      const lights = spec.lamps.map(({ name, kind, seconds, distanceM, power }): Light => ({
        name,
        kind,
        seconds: kind === 'held' ? seconds : null,
        distanceM,
        power,
      }));
      tries.push({ sample: toneSampleOf(grid, regions.mask, null), settings: reading.settings, lights });
    }
    const found = curveFromTries(tries)!;
    expect(found).not.toBeNull();
    // The scene's own curve (src/scene/encode.ts), written out again.
    const tone = (light: number): number => {
      const lifted = light * 2 ** curve.gainStops;
      const full = 1 - Math.exp(-(2 ** curve.gainStops - 0.5) / 0.5);
      const rolled = lifted <= 0.5 ? lifted : 0.5 + (0.5 * (1 - Math.exp(-(lifted - 0.5) / 0.5))) / full;
      const shown = linearToSrgb(Math.min(1, rolled));
      return shown + curve.contrast * (shown * shown * (3 - 2 * shown) - shown);
    };
    for (const stops of [-6, -5, -4, -3, -2, -1, -0.5]) {
      const code = 255 * tone(2 ** stops);
      expect(Math.abs(found.stopsOf(code) - stops)).toBeLessThan(0.15);
      // The guess of sRGB is worse in the middle.
      if (stops === -2) expect(Math.abs(Math.log2(srgbToLinear(code / 255)) - stops)).toBeGreaterThan(0.4);
    }
  });

  it('says nothing where tries do not tell', () => {
    const one = worked(linearToSrgb, 800);
    expect(curveFromTries([one])).toBeNull();
    expect(curveFromTries([one, worked(linearToSrgb, 800)])).toBeNull();
    const unknown = { ...worked(linearToSrgb, 1600), settings: { ...settingsOf(1600), aperture: null } };
    expect(curveFromTries([one, unknown])).toBeNull();
    const other: ToneSample = { codes: new Uint16Array(30), regions: new Uint8Array(10) };
    expect(curveFromTries([one, { ...worked(linearToSrgb, 1600), sample: other }])).toBeNull();
  });

  it('where lamps changed unlike or were moved, the rest tells differences of light, and the height is guessed', () => {
    const back: Light = { name: 'back', kind: 'stand', seconds: null, distanceM: 8, power: 1 };
    const before = { ...worked(linearToSrgb, 800), lights: [TORCH, back] };
    for (const now of [
      { ...back, power: 0.25 },
      { ...back, distanceM: 12 },
    ]) {
      const found = curveFromTries([before, { ...worked(linearToSrgb, 1600), lights: [TORCH, now] }])!;
      expect(found.partlyGuessed).toBe(true);
      expect(found.errorStops).toBeGreaterThan(0.25);
      const at = (stops: number): number => found.stopsOf(255 * linearToSrgb(2 ** stops));
      for (const stops of [-7, -5, -4]) expect(Math.abs(at(-3.5) - at(stops) - (-3.5 - stops))).toBeLessThan(0.1);
    }
  });

  describe('where the count of the paint is not noted', () => {
    const UNNOTED: Light = { name: 'paint', kind: 'held', seconds: null, distanceM: null, power: null };
    const tries = (paintStops: number, followedStops: number | null): ToneTry[] => [
      { ...worked(linearToSrgb, 500), lights: [UNNOTED] },
      { ...worked(linearToSrgb, 1600, paintStops), lights: [UNNOTED], followedStops },
    ];
    const worst = (paintStops: number, followedStops: number | null): number => {
      const found = curveFromTries(tries(paintStops, followedStops))!;
      return Math.max(
        ...[-6, -5, -4, -3, -2, -1].map((stops) => Math.abs(found.stopsOf(255 * linearToSrgb(2 ** stops)) - stops)),
      );
    };

    it.each([-1.85, -0.8, 0.8, 1.85])('a paint changed by %f stops does not bend the curve', (paintStops) => {
      const found = curveFromTries(tries(paintStops, null))!;
      expect(found.partlyGuessed).toBe(true);
      const at = (stops: number): number => found.stopsOf(255 * linearToSrgb(2 ** stops));
      for (const stops of [-6, -5, -4, -3]) expect(Math.abs(at(-2) - at(stops) - (-2 - stops))).toBeLessThan(0.1);
      // The height is guessed, inside its error.
      expect(worst(paintStops, null)).toBeLessThan(found.errorStops);
    });

    it('paint that grows as the sky does where both read alike was not changed: its white tells the height', () => {
      const found = curveFromTries(tries(0, null))!;
      expect(found.partlyGuessed).toBe(false);
      expect(worst(0, null)).toBeLessThan(0.1);
      // Nor by much.
      expect(worst(0.15, null)).toBeLessThan(0.15);
    });

    it('what was advised and done tells the height by the paint that goes white, no better than it was done', () => {
      expect(worst(1.85, 1.85)).toBeLessThan(0.05);
      // Nobody noted that it was done: nothing to keep for the camera.
      expect(curveFromTries(tries(1.85, 1.85))!.partlyGuessed).toBe(true);
      const loosely = curveFromTries(tries(1.85, 2.25))!;
      expect(loosely.errorStops).toBeGreaterThan(0.25);
      expect(worst(1.85, 2.25)).toBeLessThan(0.3);
    });
  });

  it.each([0, 0.2, 0.4, 0.6])(
    'a curve lifted evenly by %f stops looks like sRGB where nothing goes white: a middle serves all',
    (lift) => {
      const even = (light: number): number => linearToSrgb(Math.min(1, light * 2 ** lift));
      const found = curveFromTries([dim(even, 400), dim(even, 1000)])!;
      expect(found.errorStops).toBeGreaterThan(0.3);
      for (const stops of [-6, -5, -4])
        expect(Math.abs(found.stopsOf(255 * even(2 ** stops)) - stops)).toBeLessThan(0.4);
      const at = (stops: number): number => found.stopsOf(255 * even(2 ** stops));
      for (const stops of [-6, -5]) expect(Math.abs(at(-4) - at(stops) - (-4 - stops))).toBeLessThan(0.12);
    },
  );

  it('the height of a curve that flattens towards white is told by what cameras have in common', () => {
    // A hyperbola that brings sensor white to white and lifts middle grey by 0.8 stop.
    const shoulder = (light: number): number => linearToSrgb((light * 2) / (1 + light));
    const found = curveFromTries([dim(shoulder, 250), dim(shoulder, 1600)])!;
    for (const stops of [-5, -4, -3]) {
      const code = 255 * shoulder(2 ** stops);
      const read = Math.log2(srgbToLinear(code / 255));
      expect(Math.abs(read - stops)).toBeGreaterThan(0.7);
      expect(Math.abs(found.stopsOf(code) - stops)).toBeLessThan(0.35);
    }
  });

  it.each([-0.5, 0.5])('where the sky changes by %f stops from try to try by itself, no curve is told', (drift) => {
    const tries = [400, 1600, 640, 1250].map((iso, n) => drifted(worked, iso, n * drift));
    expect(curveFromTries(tries)).toBeNull();
  });

  it('two tries under a sky that darkens by half a stop between them tell none either: no camera is that flat', () => {
    expect(curveFromTries([dim(linearToSrgb, 640), drifted(dim, 1600, -0.5)])).toBeNull();
  });

  it('finds the slope of a camera-like curve where nothing goes white', () => {
    const steep = (light: number): number => {
      const shown = linearToSrgb(Math.min(1, light * 2 ** 0.4));
      return shown + 0.4 * (shown * shown * (3 - 2 * shown) - shown);
    };
    const found = curveFromTries([dim(steep, 400), dim(steep, 1000)])!;
    expect(found.partlyGuessed).toBe(true);
    expect(found.errorStops).toBeLessThan(0.3);
    const at = (stops: number): number => found.stopsOf(255 * steep(2 ** stops));
    for (const stops of [-6, -5, -4, -3]) expect(Math.abs(at(-2.5) - at(stops) - (-2.5 - stops))).toBeLessThan(0.12);
    const asSrgb = (stops: number): number => Math.log2(srgbToLinear(steep(2 ** stops)));
    expect(asSrgb(-2.5) - asSrgb(-5) - 2.5).toBeGreaterThan(0.3);
    // Of a camera half a stop brighter than its sensor: the guess is nearer than sRGB's.
    expect(Math.abs(at(-3) + 3)).toBeLessThan(Math.abs(asSrgb(-3) + 3) + 0.1);
    expect(Math.abs(at(-3) + 3)).toBeLessThan(0.35);
  });
});
