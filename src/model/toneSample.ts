/** Stored code values of evenly spread blocks of a JPEG, the same places in every frame of one size: what a tone curve is found from. */
export interface ToneSample {
  /** Interleaved red, green, blue: mean of the block's light carried back to a code value, 0 to 65535 for black to white. */
  readonly codes: Uint16Array;
  /** REGION value of each place. */
  readonly regions: Uint8Array;
}
