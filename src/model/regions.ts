import type { Warning } from './frame.js';

/** Values of a region mask: the grey levels that `--masks` writes. */
export const REGION = { sky: 0, unlit: 85, painted: 170, source: 255 } as const;

/** Painted ground on less of the frame than this is a trace of stray light: no paint to balance a sky with, and no subject. */
export const LEAST_PAINTED = 0.002;

export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Linear light averaged over `blockPx` x `blockPx` blocks of the frame; planes are row-major `width * height`. */
export interface Grid {
  readonly width: number;
  readonly height: number;
  readonly blockPx: number;
  readonly red: Float32Array;
  readonly green: Float32Array;
  readonly blue: Float32Array;
  /** Y = 0.2126 R + 0.7152 G + 0.0722 B (IEC 61966-2-1). */
  readonly luminance: Float32Array;
}

/** An emitter seen directly. */
export interface Source {
  readonly kind: 'lamp' | 'streak' | 'moon';
  readonly box: Box;
  readonly areaPx: number;
}

/** Who told sky from ground: the network, the method without training, or the photographer. */
export type Segmenter = 'learned' | 'classical' | 'hand';

/**
 * `mask` has one value of REGION for every block of the grid; `fineMask` the same at full size (upright pixels).
 * `confidence` (0 to 1) says how far sky and ground could be told apart.
 */
export interface Regions {
  readonly mask: Uint8Array;
  readonly fineMask: Uint8Array;
  /** 1 in blocks that hold a clipped sample. */
  readonly burnt: Uint8Array;
  readonly sources: readonly Source[];
  readonly confidence: number;
  readonly by: Segmenter;
  readonly warnings: readonly Warning[];
}

/** The light of the land, averaged over a few blocks of it, and what ambient and lamp light are made of. */
export interface LandLight {
  /** Ambient light on the land, stops. */
  readonly ambientStops: number;
  /** It is told by land that is unlit beyond doubt. */
  readonly unlitIsSeen: boolean;
  /** log2 luminance and log2(R/B) of each block of land; 0 elsewhere. */
  readonly level: Float32Array;
  readonly warmth: Float32Array;
  /** log2(R/B) of both lights; null where they are too much alike. */
  readonly colours: { readonly ambient: number; readonly lamp: number } | null;
  /** 1 for blocks that mirror the sky, which no lamp lights; null where there are none. */
  readonly water: Uint8Array | null;
}
