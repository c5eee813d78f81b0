import { describe, expect, it } from 'vitest';
import { measureLandLevels } from '../../src/measure/landLevels.js';
import { REGION, type Grid } from '../../src/model/regions.js';
import { LUMINANCE_WEIGHTS } from '../../src/physics/encoding.js';
import { mixedWarmth, shareOf } from '../../src/physics/twoLights.js';

const AMBIENT = -8;
const COLOURS = { ambient: -0.6, lamp: 1.2 };

/** Land of one level, lit by a lamp of so many times the ambient light, without noise; `taken` is what it was taken for. */
function landAt(
  ratio: number,
  colours: typeof COLOURS | null,
  taken: number = ratio >= 1 ? REGION.painted : REGION.unlit,
) {
  const count = 300;
  const level = AMBIENT + Math.log2(1 + ratio);
  const share = ratio / (1 + ratio);
  const red = (warmth: number): number => 2 ** warmth / (1 + 2 ** warmth);
  const mixed = (1 - share) * red(COLOURS.ambient) + share * red(COLOURS.lamp);
  const plane = new Float32Array(count).fill(2 ** level);
  const grid: Grid = { width: 30, height: 10, blockPx: 8, luminance: plane, red: plane, green: plane, blue: plane };
  const region = { areaFraction: 0, levelStops: null };
  return measureLandLevels(
    { luminanceWeights: LUMINANCE_WEIGHTS, balance: [1, 1, 1] },
    grid,
    {
      mask: new Uint8Array(count).fill(taken),
      land: {
        ambientStops: AMBIENT,
        unlitIsSeen: false,
        level: new Float32Array(count).fill(level),
        warmth: new Float32Array(count).fill(Math.log2(mixed / (1 - mixed))),
        colours,
        water: null,
      },
    },
    { foreground: region, unlit: region },
    { colour: null, allClippedStops: 0 },
  )!;
}

/** Middle of the step that holds all the land, stops. */
function ratioOf({ shares, lowestStops, stepStops }: ReturnType<typeof landAt>): number {
  return lowestStops + (shares.indexOf(1) + 0.5) * stepStops;
}

describe('lamp light over ambient light', () => {
  it.each([0.5, 1, 2, 5, 20])('is read back from level and colour: %f times', (ratio) => {
    expect(Math.abs(ratioOf(landAt(ratio, COLOURS)) - Math.log2(ratio))).toBeLessThan(0.5);
  });

  it.each([2, 5, 20])('is read back from level alone where both lights have one colour: %f times', (ratio) => {
    expect(Math.abs(ratioOf(landAt(ratio, null)) - Math.log2(ratio))).toBeLessThan(0.5);
  });

  // Water or snow, as bright as lamp-lit land: had it a part in the forecast, dimmer lamps would leave the middle of the paint where it is.
  it('is never the greater part on land that was taken for unlit, nor the lesser on painted land', () => {
    expect(ratioOf(landAt(5, COLOURS, REGION.unlit))).toBeLessThan(0);
    expect(ratioOf(landAt(0.3, COLOURS, REGION.painted))).toBeGreaterThan(0);
  });

  it('of two lights told apart by colour, half and half is half', () => {
    expect(shareOf(mixedWarmth(COLOURS.ambient, COLOURS.lamp), COLOURS.ambient, COLOURS.lamp)).toBeCloseTo(0.5, 9);
  });
});
