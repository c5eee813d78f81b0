import { describe, expect, it } from 'vitest';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { assembleNight } from '../../src/pipeline/assembleNight.js';
import {
  lampsLearned,
  lampsLearnedIn,
  strengthLearned,
  withLearned,
  type KitLamp,
} from '../../src/pipeline/learnLamps.js';
import { planLamps } from '../../src/pipeline/planLamps.js';
import { recordFrame } from '../../src/pipeline/recordFrame.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { focalPlaneExposure, saturationFraction } from '../../src/physics/exposure.js';
import { nightAsText } from '../../src/present/night/nightText.js';
import { candelaOfPaint, paintSecondsFor } from '../../src/physics/torch.js';
import { encodeShot } from '../../src/scene/encode.js';
import { openScene } from '../../src/scene/shoot.js';
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

  it('one note for two tries of a night that were lit otherwise is said, and teaches from the first alone', async () => {
    const spec = smallScene(38, { skyStops: -5 });
    const torch = spec.lamps.find(({ kind }) => kind === 'held')!;
    const scene = openScene({ ...spec, lamps: [torch] });
    const note = { name: 'torch', kind: 'held', seconds: torch.seconds, distanceM: 6, power: 1 } as const;
    const tried = async (file: string, takenAt: string, times: number) => {
      const lit = { ...torch, seconds: torch.seconds * times };
      const bytes = await encodeShot(scene.shoot(spec.settings, [lit]), 'srgb16');
      const options = { read: { ...spec.settings }, lights: [note], wishes: DEFAULT_WISHES };
      const { record } = await recordFrame({ bytes, file }, null, `card/${file}`, options, {});
      const { settings } = record.reading;
      return { ...record, reading: { ...record.reading, settings: { ...settings, takenAt } } };
    };
    const first = await tried('a.tif', '2026-07-14T23:10:00', 1);
    const night = async (times: number) =>
      assembleNight('card', [first, await tried('b.tif', '2026-07-14T23:12:00', times)], [], {
        latitudeDeg: null,
        longitudeDeg: null,
        zone: null,
      });
    const codes = ({ frames }: Awaited<ReturnType<typeof night>>) =>
      frames.map(({ warnings }) => warnings.filter(({ code }) => code === 'notes-contradicted').length);
    const [alike, other] = [await night(1), await night(0.2)];
    expect(codes(alike)).toEqual([0, 0]);
    expect(lampsLearnedIn(alike)).toHaveLength(2);
    expect(codes(other)).toEqual([0, 1]);
    expect(lampsLearnedIn(other)).toEqual(lampsLearned(first.reading));
    expect(nightAsText(other, 100)).toContain('by the notes');
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
