import { describe, expect, it } from 'vitest';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import type { NightFrame } from '../../src/model/night.js';
import {
  lampsLearned,
  lampsLearnedIn,
  strengthLearned,
  withLearned,
  type KitLamp,
} from '../../src/pipeline/learnLamps.js';
import { planLamps } from '../../src/pipeline/planLamps.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { focalPlaneExposure, saturationFraction } from '../../src/physics/exposure.js';
import { candelaOfPaint, paintSecondsFor } from '../../src/physics/torch.js';
import { encodeShot } from '../../src/scene/encode.js';
import { shoot, smallScene } from '../support/scenes.js';

describe('lamps learned from frames', () => {
  // ISO 12232:2006 (H = 0.65 L t / N^2, saturation at 78 / S) and E = I cos / d^2, L = rho E / pi, worked forward and back.
  it('candela from paint undoes the exposure of a known lamp', () => {
    const [candela, reflectance, cosIncidence, distanceM, seconds, iso, aperture] = [14, 0.2, 0.7, 6, 3, 1600, 2.8];
    const luminance = (reflectance * candela * cosIncidence) / (Math.PI * distanceM ** 2);
    const level = Math.log2(saturationFraction(focalPlaneExposure(luminance, seconds, aperture), iso));
    const back = candelaOfPaint(level, { iso, aperture, seconds, distanceM, reflectance, cosIncidence });
    expect(back).toBeCloseTo(candela, 9);
  });

  it('a lamp learned from a frame plans the count that lit that frame', async () => {
    const spec = smallScene(38, { skyStops: -5 });
    const torch = spec.lamps.find(({ kind }) => kind === 'held')!;
    const shot = shoot({ ...spec, lamps: [torch] });
    const { distanceM, seconds, power } = torch;
    const light = { name: 'torch', kind: 'held', seconds, distanceM, power } as const;
    const { reading } = await readOneFrame(
      await encodeShot(shot, 'srgb16'),
      'a.tif',
      { ...spec.settings },
      [light],
      DEFAULT_WISHES,
    );
    const tried = (paintRatio: number): NightFrame =>
      ({
        ...reading,
        file: 'card/a.tif',
        setup: 1,
        sincePrevious: { paintRatio, paintRatioUncertaintyStops: 0.1 },
      }) as NightFrame;
    // One note for tries that were lit otherwise teaches from the first alone.
    expect(lampsLearnedIn({ frames: [tried(1), tried(1)] })).toHaveLength(2);
    expect(lampsLearnedIn({ frames: [tried(1), tried(0.2)] })).toEqual(lampsLearned(reading));
    const [lamp] = lampsLearned(reading);
    expect(lamp).toMatchObject({ name: 'torch', kind: 'held' });
    const learned = strengthLearned(lamp!);
    // The sky as the frame shows it, in cd/m^2, and the balance that the frame has.
    const { iso, aperture, shutterSeconds } = spec.settings;
    const skyCdM2 = (2 ** reading.regions.sky.levelStops! * 78 * aperture ** 2) / (iso * 0.65 * shutterSeconds);
    const planned = planLamps([{ name: 'torch', kind: 'held', light: learned, distanceM, power }], {
      skyCdM2,
      shutterSeconds,
      balanceStops: reading.balance.stops!,
      reflectance: 0.2,
    })[0]!;
    // Ambient light was taken out of the lamp's own.
    expect(Math.abs(Math.log2(planned.seconds! / seconds))).toBeLessThan(0.35);
    expect(
      paintSecondsFor(1.5, {
        reflectance: 0.2,
        intensityCd: learned.candela,
        cosIncidence: 0.7,
        distanceM,
        skyCdM2,
        shutterSeconds,
      }),
    ).toBeGreaterThan(0);
  });

  it('says nothing of lamps that were not noted, of two lamps in one frame, or without a distance', async () => {
    const spec = smallScene(38, { skyStops: -5 });
    const bytes = await encodeShot(shoot(spec), 'srgb16');
    const torch = { name: 'torch', kind: 'held', seconds: 3, distanceM: 6, power: 1 } as const;
    const back = { name: 'back', kind: 'stand', seconds: null, distanceM: 12, power: 1 } as const;
    for (const lights of [[], [torch, back], [{ ...torch, distanceM: null }]]) {
      const { reading } = await readOneFrame(bytes, 'a.tif', { ...spec.settings }, lights, DEFAULT_WISHES);
      expect(lampsLearned(reading)).toEqual([]);
    }
  });

  it('a frame read twice counts once; frames that differ widen the spread', () => {
    const lamp = (mark: string, candela: number): KitLamp => ({
      name: 'torch',
      kind: 'held',
      samples: [{ mark, candela, spreadStops: 0.1 }],
    });
    let kit = withLearned([], [lamp('a', 10), lamp('b', 20)]);
    kit = withLearned(kit, [lamp('a', 11)]);
    expect(kit).toHaveLength(1);
    expect(kit[0]!.samples.map(({ mark }) => mark)).toEqual(['b', 'a']);
    const { candela, spreadStops } = strengthLearned(kit[0]!);
    expect(candela).toBeCloseTo(Math.sqrt(220), 0);
    expect(spreadStops).toBeGreaterThan(0.4);
  });
});
