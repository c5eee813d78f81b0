/** Linear light of a frame on a coarse grid (planes row-major, 1 = clipping), small enough to keep some of a setup. */
export interface LightMap {
  readonly width: number;
  readonly height: number;
  /** Red, green, blue. */
  readonly planes: readonly [Float32Array, Float32Array, Float32Array];
  /** REGION value of each cell's middle. */
  readonly regions: Uint8Array;
  /** 1 where a sample of the cell is clipped: its light is at least this much. */
  readonly burnt: Uint8Array;
}
