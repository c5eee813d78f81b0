import { CLIPPED_PAINT_ALLOWED } from '../../src/advise/rules/headroom.js';
import { quantile } from '../../src/math/statistics.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { REGION } from '../../src/model/regions.js';
import { LUMINANCE_WEIGHTS } from '../../src/physics/encoding.js';
import { burningThroughRatio } from '../../src/physics/exposure.js';
import type { Scene } from '../../src/scene/shoot.js';
import type { SceneLamp } from '../../src/scene/spec.js';
import { luminance } from './trial.js';

/** Land looked at, pixels. */
const LOOKED_AT = 4000;
/** Less of the land than this is no paint. */
const LEAST_AREA = 0.05;
const CLIP = 0.996;

/**
 * Whether this scene can be balanced at all without a walk: a sky level within the tolerance (or as high as ISO and shutter go) and one
 * common factor on all lamps, by which paint is left, in balance and not clipped. No lamp has more than full power or is held on for longer
 * than the shutter is open. Told from the scene's own light, without noise.
 */
export function canBalance(scene: Scene): boolean {
  const { settings, lamps } = scene.spec;
  const { skyTargetStops, balanceTargetStops, toleranceStops, maxIso, maxShutterSeconds } = DEFAULT_WISHES;
  const lit = scene.shoot(settings, lamps).truth;
  const dark = scene.shoot(
    settings,
    lamps.map((lamp) => ({ ...lamp, power: 0 })),
  ).truth.clean;
  const sky: number[] = [];
  const land: number[] = [];
  for (let i = 0; i < lit.mask.length; i++)
    if (lit.mask[i] === REGION.painted || lit.mask[i] === REGION.unlit) land.push(i);
    else if (lit.mask[i] === REGION.sky && i % 17 === 0) sky.push(luminance(dark, i));
  const skyNow = Math.log2(quantile(sky, 0.5));
  const every = Math.max(1, Math.floor(land.length / LOOKED_AT));
  const seen = land.filter((_, n) => n % every === 0);
  const most =
    skyNow +
    Math.log2(
      burningThroughRatio(settings, {
        ...settings,
        iso: maxIso,
        shutterSeconds: Math.max(settings.shutterSeconds, maxShutterSeconds),
      }),
    );
  const brightest = Math.log2(Math.min(...lamps.map((lamp) => mostOverSky(lamp, settings.shutterSeconds))));
  for (let stops = skyTargetStops - toleranceStops; stops <= skyTargetStops + toleranceStops; stops += 0.1) {
    const reached = Math.min(stops, most);
    for (let gain = -9; gain <= brightest; gain += 0.1) {
      const paint = paintAt(lit.clean, dark, seen, 2 ** (reached - skyNow), 2 ** gain);
      if (paint === null) continue;
      const miss = paint.stops - reached - balanceTargetStops;
      if (Math.abs(miss) <= toleranceStops && paint.clipped <= CLIPPED_PAINT_ALLOWED) return true;
      if (miss > toleranceStops + 1) break;
    }
  }
  return false;
}

/** How many times its light over the sky's a lamp can give: at full power, a held one on for the whole exposure. */
function mostOverSky({ kind, seconds, power }: SceneLamp, shutterSeconds: number): number {
  return (kind === 'held' ? shutterSeconds / seconds : 1) / power;
}

function paintAt(
  lit: Float32Array,
  dark: Float32Array,
  land: readonly number[],
  through: number,
  gain: number,
): { stops: number; clipped: number } | null {
  const levels: number[] = [];
  let clipped = 0;
  for (const i of land) {
    let [lamp, ambient, level, top] = [0, 0, 0, 0];
    for (let c = 0; c < 3; c++) {
      const own = dark[i * 3 + c]!;
      const extra = (lit[i * 3 + c]! - own) * gain;
      const light = (own + extra) * through;
      lamp += extra;
      ambient += own;
      level += LUMINANCE_WEIGHTS[c]! * Math.min(1, light);
      top = Math.max(top, light);
    }
    if (lamp <= ambient) continue;
    levels.push(level);
    if (top >= CLIP) clipped++;
  }
  if (levels.length < LEAST_AREA * land.length) return null;
  return { stops: Math.log2(quantile(levels, 0.5)), clipped: clipped / levels.length };
}
