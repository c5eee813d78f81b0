/** A field of a TIFF directory (TIFF 6.0, section 2). `data` stands for the offset of the picture data that follows the directories. */
export type TagValue =
  | { readonly type: 'byte' | 'short' | 'long' | 'rational' | 'srational'; readonly values: readonly number[] }
  | { readonly type: 'ascii'; readonly text: string }
  | { readonly type: 'data'; readonly length: number }
  | { readonly type: 'directory'; readonly entries: readonly (readonly [number, TagValue])[] };

const TYPE_CODE = { byte: 1, ascii: 2, short: 3, long: 4, rational: 5, srational: 10, data: 4, directory: 4 } as const;
const RATIONAL_UNIT = 10_000;

/** A little-endian TIFF file of one directory (and those hung below it) and one strip of data. Tags must come in rising order. */
export function tiffBytes(entries: readonly (readonly [number, TagValue])[], data: Uint8Array): Uint8Array {
  const size = 8 + directoryLength(entries);
  const dataAt = size + (size % 4 === 0 ? 0 : 4 - (size % 4));
  const out = new Uint8Array(dataAt + data.length);
  const view = new DataView(out.buffer);
  out.set([0x49, 0x49, 42, 0, 8, 0, 0, 0]);
  writeDirectory(view, out, 8, entries, dataAt);
  out.set(data, dataAt);
  return out;
}

/** Values outside 0 to 65535 are held at the ends. */
export function round16(value: number): number {
  return Math.max(0, Math.min(65535, Math.round(value)));
}

function valueLength(value: TagValue): number {
  if (value.type === 'ascii') return value.text.length + 1;
  if (value.type === 'data' || value.type === 'directory') return 4;
  return value.values.length * { byte: 1, short: 2, long: 4, rational: 8, srational: 8 }[value.type];
}

function directoryLength(entries: readonly (readonly [number, TagValue])[]): number {
  let length = 6 + entries.length * 12;
  for (const [, value] of entries) {
    if (value.type === 'directory') length += directoryLength(value.entries);
    else if (valueLength(value) > 4) length += valueLength(value) + (valueLength(value) % 2);
  }
  return length;
}

function writeDirectory(
  view: DataView,
  out: Uint8Array,
  start: number,
  entries: readonly (readonly [number, TagValue])[],
  dataAt: number,
): void {
  view.setUint16(start, entries.length, true);
  let free = start + 6 + entries.length * 12;
  entries.forEach(([tag, value], n) => {
    const at = start + 2 + n * 12;
    view.setUint16(at, tag, true);
    view.setUint16(at + 2, TYPE_CODE[value.type], true);
    const count = value.type === 'ascii' ? value.text.length + 1 : 'values' in value ? value.values.length : 1;
    view.setUint32(at + 4, count, true);
    if (value.type === 'data') view.setUint32(at + 8, dataAt, true);
    else if (value.type === 'directory') {
      view.setUint32(at + 8, free, true);
      writeDirectory(view, out, free, value.entries, dataAt);
      free += directoryLength(value.entries);
    } else if (valueLength(value) <= 4) writeValues(view, out, at + 8, value);
    else {
      view.setUint32(at + 8, free, true);
      writeValues(view, out, free, value);
      free += valueLength(value) + (valueLength(value) % 2);
    }
  });
}

function writeValues(view: DataView, out: Uint8Array, at: number, value: TagValue): void {
  if (value.type === 'ascii') {
    for (let n = 0; n < value.text.length; n++) out[at + n] = value.text.charCodeAt(n);
    return;
  }
  if (!('values' in value)) return;
  value.values.forEach((number, n) => {
    if (value.type === 'byte') out[at + n] = number;
    else if (value.type === 'short') view.setUint16(at + n * 2, number, true);
    else if (value.type === 'long') view.setUint32(at + n * 4, number, true);
    else {
      view.setInt32(at + n * 8, Math.round(number * RATIONAL_UNIT), true);
      view.setInt32(at + n * 8 + 4, RATIONAL_UNIT, true);
    }
  });
}
