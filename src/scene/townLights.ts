import { seededRandom } from '../math/random.js';
import type { Land } from './land.js';
import { addEmitter } from './lampLight.js';
import type { LightPlane, SceneSpec, WiderSpec } from './spec.js';

/** Distant lamps and lit windows scattered on the land below the skyline. */
export function drawTown(
  spec: SceneSpec,
  wider: WiderSpec,
  land: Land,
  through: number,
  light: LightPlane,
  sources: Uint8Array,
): void {
  const random = seededRandom(spec.seed + 83);
  const { widthPx: width, heightPx: height } = spec;
  for (let n = 0; n < wider.townLights; n++) {
    const x = random.between(0, width - 1);
    const skyline = land.skylineRow[Math.floor(x)]!;
    const y = Math.min(height - 2, skyline + random.next() ** 2 * height * 0.2 - height * 0.005);
    const colour = random.pick(LAMP_COLOURS);
    const strength = through * 2 ** random.between(-2, 4);
    addEmitter(light, sources, spec, { x, y, radius: (height / 900) * random.between(0.6, 3), colour, strength });
    if (wider.lit) pool(light, land, width, height, { x, y, colour, reach: height * random.between(0.02, 0.12) });
  }
  if (wider.lit && wider.outline === 'town') windows(spec, land, through, light);
}

const LAMP_COLOURS = [
  [1.5, 1, 0.4],
  [1.6, 0.9, 0.3],
  [1, 1, 0.95],
  [0.8, 1, 1.3],
] as const;

/** What a street lamp lights round it. */
function pool(
  light: LightPlane,
  land: Land,
  width: number,
  height: number,
  lamp: { x: number; y: number; colour: readonly [number, number, number]; reach: number },
): void {
  const { x: cx, y: cy, colour, reach } = lamp;
  for (let y = Math.max(0, Math.floor(cy - reach * 3)); y < Math.min(height, cy + reach * 3); y++)
    for (let x = Math.max(0, Math.floor(cx - reach * 3)); x < Math.min(width, cx + reach * 3); x++) {
      const i = y * width + x;
      const near = 0.5 / (1 + ((x - cx) ** 2 + (y - cy) ** 2) / (reach * reach * 0.15));
      for (let c = 0; c < 3; c++) light[i * 3 + c]! += near * land.cover[i]! * land.reflectance[i]! * colour[c]!;
    }
}

/** Lit windows in rows on what stands above the ground. */
function windows(spec: SceneSpec, land: Land, through: number, light: LightPlane): void {
  const random = seededRandom(spec.seed + 85);
  const { widthPx: width, heightPx: height } = spec;
  const wide = Math.max(4, Math.round(height * random.between(0.008, 0.03)));
  const high = Math.round(wide * random.between(1, 1.8));
  const share = random.between(0.1, 0.8);
  for (let y0 = 0; y0 < height; y0 += high * 2)
    for (let x0 = 0; x0 < width; x0 += wide * 2) {
      const lit = random.next() < share;
      const colour = random.pick(LAMP_COLOURS);
      const strength = through * 2 ** random.between(-5, 0);
      if (!lit || y0 > land.skylineRow[x0]! + height * 0.05) continue;
      for (let y = y0; y < Math.min(height, y0 + high); y++)
        for (let x = x0; x < Math.min(width, x0 + wide); x++) {
          const i = y * width + x;
          if (land.cover[i]! > 0.95 && land.upright[i] === 1)
            for (let c = 0; c < 3; c++) light[i * 3 + c]! += strength * colour[c]!;
        }
    }
}
