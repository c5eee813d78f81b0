import { PNG } from 'pngjs';

/** The region mask as an 8-bit grey PNG: 0 sky, 85 unlit, 170 painted, 255 source. */
export function regionsPng(mask: Uint8Array, width: number, height: number): Buffer {
  const png = new PNG({ width, height });
  png.data = Buffer.from(mask.buffer, mask.byteOffset, mask.byteLength);
  return PNG.sync.write(png, {
    colorType: 0,
    inputColorType: 0,
    bitDepth: 8,
    inputHasAlpha: false,
    deflateLevel: 4,
    filterType: 0,
  });
}
