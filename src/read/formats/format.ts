import type { Container } from '../../model/frame.js';

/** One file format: how its bytes are known, and what it says of its curve when no ICC profile does. */
export interface Format {
  readonly id: Container;
  sniff(bytes: Uint8Array): boolean;
  /** The file itself says that its values are linear light. */
  saysLinear(bytes: Uint8Array): boolean;
}
