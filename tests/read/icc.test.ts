import { describe, expect, it } from 'vitest';
import { parseMatrixProfile } from '../../src/read/icc.js';
import { srgbToLinear } from '../../src/physics/encoding.js';

/** A minimal matrix profile (ICC.1:2022): header, tag table, three XYZ columns, one curve for all. */
function profile(curve: Buffer, columns: readonly (readonly number[])[]): Buffer {
  const tags = ['rXYZ', 'gXYZ', 'bXYZ', 'rTRC', 'gTRC', 'bTRC'];
  const dataAt = 132 + tags.length * 12;
  const xyz = columns.map((column) => {
    const data = Buffer.alloc(20);
    data.write('XYZ ', 0, 'latin1');
    column.forEach((value, n) => data.writeInt32BE(Math.round(value * 65536), 8 + n * 4));
    return data;
  });
  const blocks = [...xyz, curve, curve, curve];
  const table = Buffer.alloc(4 + tags.length * 12);
  table.writeUInt32BE(tags.length, 0);
  let at = dataAt;
  tags.forEach((tag, n) => {
    table.write(tag, 4 + n * 12, 'latin1');
    table.writeUInt32BE(at, 8 + n * 12);
    table.writeUInt32BE(blocks[n]!.length, 12 + n * 12);
    at += blocks[n]!.length;
  });
  const header = Buffer.alloc(128);
  header.write('RGB ', 16, 'latin1');
  return Buffer.concat([header, table, ...blocks]);
}

function parametric(kind: number, values: readonly number[]): Buffer {
  const data = Buffer.alloc(12 + values.length * 4);
  data.write('para', 0, 'latin1');
  data.writeUInt16BE(kind, 8);
  values.forEach((value, n) => data.writeInt32BE(Math.round(value * 65536), 12 + n * 4));
  return data;
}

// sRGB and Adobe RGB (1998) colorants, D50 adapted, as published in their profiles (from memory, rounded to 4 digits).
const SRGB = [
  [0.4361, 0.2225, 0.0139],
  [0.3851, 0.7169, 0.0971],
  [0.1431, 0.0606, 0.7142],
];
const ADOBE = [
  [0.6097, 0.3111, 0.0195],
  [0.2053, 0.6257, 0.0609],
  [0.1492, 0.0632, 0.7446],
];

describe('matrix profiles', () => {
  it('knows sRGB by its parametric curve and primaries', () => {
    const parsed = parseMatrixProfile(
      profile(parametric(3, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045]), SRGB),
    );
    expect(parsed?.response).toBe('srgb');
    expect(parsed?.toSrgbPrimaries).toBeNull();
    expect(parsed?.curves[0](0.5)).toBeCloseTo(srgbToLinear(0.5), 4);
  });

  it('knows a linear curve', () => {
    const identity = Buffer.alloc(12);
    identity.write('curv', 0, 'latin1');
    expect(parseMatrixProfile(profile(identity, SRGB))?.response).toBe('linear');
    expect(parseMatrixProfile(profile(parametric(0, [1]), SRGB))?.response).toBe('linear');
  });

  it('carries Adobe RGB green outside sRGB, and keeps grey grey', () => {
    const parsed = parseMatrixProfile(profile(parametric(0, [563 / 256]), ADOBE))!;
    expect(parsed.response).toBe('icc');
    const m = parsed.toSrgbPrimaries!;
    for (const row of [0, 3, 6]) expect(m[row]! + m[row + 1]! + m[row + 2]!).toBeCloseTo(1, 2);
    // Adobe RGB (1998) to linear sRGB: red gains 1.398, loses 0.398 of green (published matrices, from memory).
    expect(m[0]).toBeCloseTo(1.398, 2);
    expect(m[1]).toBeCloseTo(-0.398, 2);
  });

  it('gives null for what it cannot read, and does not throw on garbage', () => {
    expect(parseMatrixProfile(new Uint8Array(40))).toBeNull();
    const noise = Uint8Array.from({ length: 600 }, (_, i) => (i * 97) % 256);
    expect(parseMatrixProfile(noise)).toBeNull();
  });
});
