import type { Frame } from '../../model/frame.js';
import { REGION, type Grid, type Regions } from '../../model/regions.js';
import type { Detection } from '../stars/detect.js';

/** Steps from black to white that a profile's values are told in. */
export const CODE_STEPS = 1023;

/** A star as the file shows it: brightness of its pixels as displayed, 0 to CODE_STEPS. */
export interface StarProfile {
  /** Place in the frame, parts of its width and height from the middle. */
  readonly x: number;
  readonly y: number;
  /** How far its middle stands over the sky round it, and the spread of that sky, parts of white as displayed. */
  readonly contrast: number;
  readonly noise: number;
  /** Pixels within one of the peak, further ones within three, and the ring of sky round it. */
  readonly core: Uint16Array;
  readonly skirt: Uint16Array;
  readonly ring: Uint16Array;
}

const CORE_PX = 1;
/** Half the side of the square that holds a star's light, pixels. */
const WHOLE_PX = 3;
const RING_PX = { from: 5, to: 9 };

/** Places of a star's pixels beside its peak. */
const PLACES = placesByPart();

function placesByPart(): Readonly<Record<'core' | 'skirt' | 'ring', readonly (readonly [dx: number, dy: number])[]>> {
  const core: [number, number][] = [];
  const skirt: [number, number][] = [];
  const ring: [number, number][] = [];
  for (let dy = -RING_PX.to; dy <= RING_PX.to; dy++)
    for (let dx = -RING_PX.to; dx <= RING_PX.to; dx++) {
      const far = Math.max(Math.abs(dx), Math.abs(dy));
      const r = Math.hypot(dx, dy);
      if (far <= CORE_PX) core.push([dx, dy]);
      else if (far <= WHOLE_PX) skirt.push([dx, dy]);
      else if (r > RING_PX.from && r < RING_PX.to) ring.push([dx, dy]);
    }
  return { core, skirt, ring };
}

/** So many stars tell enough. */
const MOST_PROFILES = 300;
const MOST_TRIED = 1000;

/** Parts of white as displayed: brighter ones may be clipped, fainter ones are what packing and grain make of them. */
const CONTRAST = { least: 0.05, overNoise: 3 };
const BRIGHTEST = 0.96;
/** Sky that is rougher than this hides what is sought. */
const ROUGHEST = 0.03;
/** Another star in the ring, and a slope of the sky across it: parts of the star's own height. */
const RING = { neighbour: 0.3, slope: 0.1, slopeAtLeast: 0.02 };

/** Stars that stand alone in an even sky, brightest first. Of frames of 8 bits in sRGB's primaries; others have none. */
export function starProfiles(frame: Frame, grid: Grid, regions: Regions, detection: Detection): StarProfile[] {
  const found: StarProfile[] = [];
  if (!(frame.samples instanceof Uint8Array) || frame.toSrgbPrimaries !== null) return found;
  const profiler = new Profiler(frame, frame.samples, regions.fineMask);
  for (const { bx, by } of detection.candidates.slice(0, MOST_TRIED)) {
    const profile = profiler.at(bx * grid.blockPx, by * grid.blockPx, grid.blockPx);
    if (profile !== null) found.push(profile);
    if (found.length === MOST_PROFILES) break;
  }
  return found;
}

/** Reads profiles of one frame. A class, so that what is compiled for one frame serves the next. */
class Profiler {
  readonly #widthPx: number;
  readonly #heightPx: number;
  readonly #samples: Uint8Array;
  readonly #mask: Uint8Array;
  readonly #weights: readonly [number, number, number];
  readonly #ring = new Float64Array(PLACES.ring.length);
  /** How far each place lies from the peak, pixels in reading order. */
  readonly #away: Readonly<Record<keyof typeof PLACES, Int32Array>>;

  constructor({ widthPx, heightPx, luminanceWeights }: Frame, samples: Uint8Array, mask: Uint8Array) {
    this.#widthPx = widthPx;
    this.#heightPx = heightPx;
    this.#samples = samples;
    this.#mask = mask;
    this.#weights = luminanceWeights;
    const away = (part: keyof typeof PLACES): Int32Array =>
      Int32Array.from(PLACES[part], ([dx, dy]) => dy * widthPx + dx);
    this.#away = { core: away('core'), skirt: away('skirt'), ring: away('ring') };
  }

  /** The star whose peak lies in the block with this corner; null where none stands alone in an even sky. */
  at(left: number, top: number, blockPx: number): StarProfile | null {
    const widthPx = this.#widthPx;
    const reach = RING_PX.to + 1;
    const [right, bottom] = [left + blockPx + reach, top + blockPx + reach];
    if (left < reach || top < reach || right > widthPx || bottom > this.#heightPx) return null;
    let [peak, height] = [0, -1];
    for (let y = top - 1; y <= top + blockPx; y++)
      for (let x = left - 1; x <= left + blockPx; x++) {
        const value = this.#shown(y * widthPx + x);
        if (value > height) [peak, height] = [y * widthPx + x, value];
      }
    if (height > BRIGHTEST || !this.#readRing(peak)) return null;
    const sorted = this.#ring.slice().sort();
    const at = (part: number): number => sorted[Math.round(part * (sorted.length - 1))]!;
    const background = at(0.5);
    // Quarters of a normal distribution lie 1.349 standard deviations apart.
    const noise = (at(0.75) - at(0.25)) / 1.349;
    const core = this.#read(peak, this.#away.core);
    const contrast = core.reduce((sum, step) => sum + step, 0) / (core.length * CODE_STEPS) - background;
    const own = height - background;
    if (noise > ROUGHEST || contrast < Math.max(CONTRAST.least, CONTRAST.overNoise * noise)) return null;
    if (at(0.98) - background > RING.neighbour * own) return null;
    if (this.#slopeAcross() > RING.slopeAtLeast + RING.slope * own) return null;
    return {
      x: (peak % widthPx) / widthPx - 0.5,
      y: Math.floor(peak / widthPx) / this.#heightPx - 0.5,
      contrast,
      noise,
      core,
      skirt: this.#read(peak, this.#away.skirt),
      ring: Uint16Array.from(this.#ring, (value) => Math.round(CODE_STEPS * value)),
    };
  }

  /** Brightness as displayed, 0 to 1. */
  #shown(pixel: number): number {
    const samples = this.#samples;
    const weights = this.#weights;
    const i = pixel * 3;
    return (weights[0] * samples[i]! + weights[1] * samples[i + 1]! + weights[2] * samples[i + 2]!) / 255;
  }

  /** False where the ring is not all sky. */
  #readRing(peak: number): boolean {
    const away = this.#away.ring;
    for (let n = 0; n < away.length; n++) {
      const pixel = peak + away[n]!;
      if (this.#mask[pixel] !== REGION.sky) return false;
      this.#ring[n] = this.#shown(pixel);
    }
    return true;
  }

  #read(peak: number, away: Int32Array): Uint16Array {
    const steps = new Uint16Array(away.length);
    for (let n = 0; n < away.length; n++) steps[n] = Math.round(CODE_STEPS * this.#shown(peak + away[n]!));
    return steps;
  }

  /** Between the means of the ring's halves, whichever way they lie farther apart. */
  #slopeAcross(): number {
    let [across, down] = [0, 0];
    PLACES.ring.forEach(([dx, dy], n) => {
      across += Math.sign(dx) * this.#ring[n]!;
      down += Math.sign(dy) * this.#ring[n]!;
    });
    return (2 * Math.max(Math.abs(across), Math.abs(down))) / PLACES.ring.length;
  }
}
