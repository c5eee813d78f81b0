/**
 * Matrix / tone curve ICC profiles (ICC.1:2022, sections 8.3.3, 10.6 curveType, 10.18 parametricCurveType): enough to turn
 * stored values into linear light exactly. Profiles with look-up tables give null, and the decoder's own conversion is used.
 */
export interface MatrixProfile {
  readonly curves: readonly [ToneCurve, ToneCurve, ToneCurve];
  /** Linear device RGB to linear sRGB primaries, row-major; null when they are sRGB's own. */
  readonly toSrgbPrimaries: readonly number[] | null;
  readonly response: 'srgb' | 'icc' | 'linear';
}

export type ToneCurve = (value: number) => number;

/** sRGB primaries in the profile connection space (D50, Bradford), IEC 61966-2-1 annex as shipped in ICC sRGB profiles. */
const SRGB_TO_PCS = [0.4360747, 0.3850649, 0.1430804, 0.2225045, 0.7168786, 0.0606169, 0.0139322, 0.0971045, 0.7141733];
const PCS_TO_SRGB = [
  3.1338561, -1.6168667, -0.4906146, -0.9787684, 1.9161415, 0.033454, 0.0719453, -0.2289914, 1.4052427,
];

export function parseMatrixProfile(profile: Uint8Array): MatrixProfile | null {
  if (profile.length < 132) return null;
  const view = new DataView(profile.buffer, profile.byteOffset, profile.byteLength);
  const tags = new Map<string, { offset: number; size: number }>();
  const count = view.getUint32(128);
  for (let n = 0; n < Math.min(count, 200); n++) {
    const at = 132 + n * 12;
    if (at + 12 > profile.length) return null;
    const offset = view.getUint32(at + 4);
    const size = view.getUint32(at + 8);
    if (offset + size <= profile.length) tags.set(ascii(profile, at), { offset, size });
  }
  if (tags.has('kTRC') && ascii(profile, 16) === 'GRAY') {
    const grey = curveAt(view, tags.get('kTRC'));
    return grey === null
      ? null
      : { curves: [grey, grey, grey], toSrgbPrimaries: null, response: responseOf([grey, grey, grey]) };
  }
  const curves = ['rTRC', 'gTRC', 'bTRC'].map((tag) => curveAt(view, tags.get(tag)));
  const columns = ['rXYZ', 'gXYZ', 'bXYZ'].map((tag) => xyzAt(view, tags.get(tag)));
  const [red, green, blue] = curves;
  const [rx, gx, bx] = columns;
  if (!red || !green || !blue || !rx || !gx || !bx) return null;
  const device = [rx[0]!, gx[0]!, bx[0]!, rx[1]!, gx[1]!, bx[1]!, rx[2]!, gx[2]!, bx[2]!];
  const same = device.every((value, index) => Math.abs(value - SRGB_TO_PCS[index]!) < 0.004);
  const list: [ToneCurve, ToneCurve, ToneCurve] = [red, green, blue];
  if (!isSane(list, device)) return null;
  return { curves: list, toSrgbPrimaries: same ? null : multiply(PCS_TO_SRGB, device), response: responseOf(list) };
}

/** Curves that run from near 0 to near 1 and colorants of ordinary size; anything else is a damaged profile. */
function isSane(curves: readonly ToneCurve[], columns: readonly number[]): boolean {
  const sound = curves.every((curve) => {
    const ends = [curve(0), curve(0.5), curve(1)];
    return (
      ends.every((value) => Number.isFinite(value) && value > -0.2) &&
      Math.abs(ends[2]! - 1) < 0.2 &&
      ends[1]! < 1.01 &&
      ends[0]! < 0.2
    );
  });
  return sound && columns.every((value) => Math.abs(value) < 3);
}

function responseOf(curves: readonly ToneCurve[]): 'srgb' | 'icc' | 'linear' {
  const probes = [0.05, 0.2, 0.5, 0.8];
  const close = (of: (v: number) => number): boolean =>
    curves.every((curve) => probes.every((v) => Math.abs(curve(v) - of(v)) < 0.006));
  if (close((v) => v)) return 'linear';
  if (close((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))) return 'srgb';
  return 'icc';
}

function curveAt(view: DataView, tag: { offset: number; size: number } | undefined): ToneCurve | null {
  if (tag === undefined || tag.size < 12) return null;
  const { offset, size } = tag;
  const type = String.fromCharCode(...[0, 1, 2, 3].map((n) => view.getUint8(offset + n)));
  if (type === 'curv') {
    const points = view.getUint32(offset + 8);
    if (points === 0) return (v) => v;
    if (12 + points * 2 > size) return null;
    if (points === 1) {
      const gamma = view.getUint16(offset + 12) / 256;
      return (v) => v ** gamma;
    }
    const table = Float64Array.from({ length: points }, (_, n) => view.getUint16(offset + 12 + n * 2) / 65535);
    return (v) => {
      const place = Math.max(0, Math.min(1, v)) * (points - 1);
      const low = Math.min(points - 2, Math.floor(place));
      return table[low]! + (table[low + 1]! - table[low]!) * (place - low);
    };
  }
  if (type !== 'para') return null;
  const kind = view.getUint16(offset + 8);
  const lengths = [1, 3, 4, 5, 7];
  const wanted = lengths[kind];
  if (wanted === undefined || 12 + wanted * 4 > size) return null;
  const p = Array.from({ length: wanted }, (_, n) => view.getInt32(offset + 12 + n * 4) / 65536);
  const [g = 1, a = 1, b = 0, c = 0, d = 0, e = 0, f = 0] = p;
  const power = (v: number): number => Math.max(0, a * v + b) ** g;
  if (kind === 0) return (v) => v ** g;
  if (kind === 1) return (v) => (v >= -b / a ? power(v) : 0);
  if (kind === 2) return (v) => (v >= -b / a ? power(v) + c : c);
  if (kind === 3) return (v) => (v >= d ? power(v) : c * v);
  return (v) => (v >= d ? power(v) + e : c * v + f);
}

function xyzAt(view: DataView, tag: { offset: number; size: number } | undefined): number[] | null {
  if (tag === undefined || tag.size < 20) return null;
  return [0, 1, 2].map((n) => view.getInt32(tag.offset + 8 + n * 4) / 65536);
}

function multiply(m: readonly number[], n: readonly number[]): number[] {
  return Array.from({ length: 9 }, (_, i) => {
    const row = Math.floor(i / 3) * 3;
    const column = i % 3;
    return m[row]! * n[column]! + m[row + 1]! * n[column + 3]! + m[row + 2]! * n[column + 6]!;
  });
}

function ascii(bytes: Uint8Array, at: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + 4));
}
