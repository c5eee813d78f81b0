import { deflateSync, crc32 } from 'node:zlib';

/** A PNG built by hand, so that its header can say anything. */
export function handmadePng(
  width: number,
  height: number,
  chunks: readonly { type: string; data: Buffer }[] = [],
): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8, 2, 0, 0, 0], 8);
  const parts = [
    { type: 'IHDR', data: header },
    ...chunks,
    { type: 'IDAT', data: deflateSync(Buffer.alloc(64)) },
    { type: 'IEND', data: Buffer.alloc(0) },
  ];
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    ...parts.map(({ type, data }) => chunk(type, data)),
  ]);
}

function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
  const out = Buffer.alloc(8 + body.length);
  out.writeUInt32BE(data.length, 0);
  body.copy(out, 4);
  out.writeUInt32BE(crc32(body), 4 + body.length);
  return out;
}

export interface Entry {
  readonly tag: number;
  readonly type: 'ascii' | 'short' | 'long' | 'rational' | 'srational';
  readonly value: string | readonly number[];
}

const SIZE = { ascii: 1, short: 2, long: 4, rational: 8, srational: 8 } as const;
const CODE = { ascii: 2, short: 3, long: 4, rational: 5, srational: 10 } as const;

/** A little-endian Exif block (TIFF structure, CIPA DC-008): IFD0, Exif IFD, GPS IFD. Rationals as numerator, denominator pairs. */
export function exifBlock(ifd0: readonly Entry[], exif: readonly Entry[], gps: readonly Entry[] = []): Buffer {
  const pointers = (exifAt: number, gpsAt: number): Entry[] => [
    ...ifd0,
    { tag: 0x8769, type: 'long', value: [exifAt] },
    ...(gps.length > 0 ? [{ tag: 0x8825, type: 'long', value: [gpsAt] } as const] : []),
  ];
  const first = directory(pointers(0, 0), 8).length;
  const exifPart = directory(exif, 8 + first);
  const gpsAt = 8 + first + exifPart.length;
  const head = Buffer.from([0x49, 0x49, 42, 0, 8, 0, 0, 0]);
  return Buffer.concat([
    head,
    directory(pointers(8 + first, gpsAt), 8),
    exifPart,
    ...(gps.length > 0 ? [directory(gps, gpsAt)] : []),
  ]);
}

function directory(entries: readonly Entry[], at: number): Buffer {
  const sorted = [...entries].sort((a, b) => a.tag - b.tag);
  const head = Buffer.alloc(2 + sorted.length * 12 + 4);
  head.writeUInt16LE(sorted.length, 0);
  const tail: Buffer[] = [];
  let tailAt = at + head.length;
  sorted.forEach((entry, n) => {
    const data = dataOf(entry);
    const place = 2 + n * 12;
    head.writeUInt16LE(entry.tag, place);
    head.writeUInt16LE(CODE[entry.type], place + 2);
    head.writeUInt32LE(data.length / SIZE[entry.type] / 1, place + 4);
    if (data.length <= 4) data.copy(head, place + 8);
    else {
      head.writeUInt32LE(tailAt, place + 8);
      const padded = data.length % 2 === 0 ? data : Buffer.concat([data, Buffer.alloc(1)]);
      tail.push(padded);
      tailAt += padded.length;
    }
  });
  return Buffer.concat([head, ...tail]);
}

function dataOf({ type, value }: Entry): Buffer {
  if (typeof value === 'string') return Buffer.from(`${value}\0`, 'latin1');
  const size = type === 'short' ? 2 : 4;
  const out = Buffer.alloc(value.length * size);
  value.forEach((n, i) => {
    if (size === 2) out.writeUInt16LE(n, i * 2);
    else if (type === 'srational') out.writeInt32LE(n, i * 4);
    else out.writeUInt32LE(n, i * 4);
  });
  return out;
}

/** Puts an Exif block into a JPEG as its first APP1 segment. */
export function withExif(jpeg: Buffer, exif: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), exif]);
  const head = Buffer.alloc(4);
  head.writeUInt16BE(0xffe1, 0);
  head.writeUInt16BE(body.length + 2, 2);
  return Buffer.concat([jpeg.subarray(0, 2), head, body, jpeg.subarray(2)]);
}
