import { seededRandom, type Random } from '../math/random.js';
import { randomScene } from './randomScene.js';
import { OUTLINES, type SceneSpec } from './spec.js';

/**
 * A scene of a wider kind: any outline, twilight, cloud, aurora-like glow, snow, town lights, haze, black land, upright frames, lenses
 * from 8 to 70 mm pointed up or down. For training and trying the finder of sky. The same seed gives the same scene.
 */
export function widerScene(seed: number): SceneSpec {
  const random = seededRandom(seed * 211 + 29);
  const long = random.pick([640, 800, 800, 960, 1280]);
  const short = Math.round(long * random.pick([0.5, 0.5625, 0.6667, 0.6667, 0.75, 0.75]));
  const upright = random.next() < 0.35;
  const size = upright ? { widthPx: short, heightPx: long } : { widthPx: long, heightPx: short };
  const base = randomScene(seed, size);
  const some = (chance: number, low: number, high: number): number =>
    random.next() < chance ? random.between(low, high) : 0;
  const trails = random.next() < 0.12;
  return {
    ...base,
    focalMm: random.pick([8, 12, 14, 16, 20, 24, 28, 35, 50, 70]),
    pixelPitchUm: 36000 / long,
    settings: { ...base.settings, shutterSeconds: trails ? random.between(60, 1800) : base.settings.shutterSeconds },
    lamps: random.next() < 0.25 ? [] : base.lamps.map((lamp) => ({ ...lamp, colour: lampColour(random) })),
    skyStops: random.between(-8, -1),
    ambientStops: random.next() < 0.3 ? random.between(-9, -4) : random.between(-4.5, 1.2),
    altitudeDeg: random.between(-12, 38),
    milkyWay: random.between(0, 2),
    skyColour: [random.between(0.5, 1.3), 1, random.between(0.7, 2)],
    moon: random.next() < 0.06,
    vignetteStops: random.between(0, 2.2),
    starFwhmPx: random.between(1.3, 3.5),
    defocusPx: random.next() < 0.08 ? random.between(5, 14) : 0,
    wider: {
      outline: random.next() < 0.2 ? 'none' : random.pick(OUTLINES),
      rise: random.between(-0.06, 0.25),
      rough: random.between(0.005, 0.25),
      farRidges: random.next() < 0.35 ? 1 + Math.floor(random.between(0, 4)) : 0,
      haze: random.between(0.02, 0.6),
      twilight: some(0.4, 0.2, 10),
      twilightColour: [random.between(0.9, 2.2), 1, random.between(0.4, 1.1)],
      aurora: some(0.12, 0.5, 6),
      overcast: some(0.4, 0.15, 1),
      overcastLight: 2 ** random.between(-2, 3),
      drift: random.next() < 0.35,
      overcastColour: [random.between(0.8, 1.7), 1, random.between(0.4, 1.3)],
      townLights: random.next() < 0.3 ? Math.floor(random.between(1, 60)) : 0,
      lit: random.next() < 0.6,
      snow: random.next() < 0.2 ? random.between(2, 4.5) : random.between(0.5, 1.3),
      relief: random.next() < 0.2 ? random.between(0.05, 0.4) : random.between(0.5, 2.4),
      markPx: 2 ** random.between(0.5, 5),
      patches: {
        stops: random.next() < 0.25 ? 0 : random.between(0.2, 1.3),
        warmth: random.next() < 0.25 ? 0 : random.between(0.1, 1.2),
        sizePx: long * 2 ** random.between(-4.5, -1),
      },
      swept: random.next() < 0.5 ? 0 : random.between(0.3, 2),
    },
  };
}

/** Warm lamps, neutral and cold ones, and now and then a gel. */
function lampColour(random: Random): [number, number, number] {
  const kind = random.next();
  if (kind < 0.4) return [random.between(1.2, 1.9), 1, random.between(0.3, 0.75)];
  if (kind < 0.7) return [random.between(0.95, 1.2), 1, random.between(0.75, 1)];
  if (kind < 0.9) return [random.between(0.75, 1), 1, random.between(1, 1.4)];
  return random.pick([
    [1.6, 0.35, 0.15],
    [0.2, 0.5, 1.6],
    [0.4, 1, 0.3],
  ] as [number, number, number][]);
}
