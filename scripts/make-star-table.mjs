// Packs the bright star list of the npm package d3-celestial (BSD-3, data/stars.6.json, after Hipparcos) into
// src/calibration/data/brightStarTable.ts. Run: node scripts/make-star-table.mjs
import { readFileSync, writeFileSync } from 'node:fs';

const list = JSON.parse(readFileSync('node_modules/d3-celestial/data/stars.6.json', 'utf8')).features;
const bytes = Buffer.alloc(list.length * 6);
list.forEach((star, index) => {
  const [longitude, declination] = star.geometry.coordinates;
  const rightAscension = (longitude + 360) % 360;
  bytes.writeUInt16LE(Math.round((rightAscension / 360) * 65535), index * 6);
  bytes.writeInt16LE(Math.round((declination / 90) * 32767), index * 6 + 2);
  bytes.writeUInt8(Math.max(0, Math.round((star.properties.mag + 2) * 30)), index * 6 + 4);
  bytes.writeInt8(Math.max(-127, Math.min(127, Math.round(Number(star.properties.bv || 0.6) * 50))), index * 6 + 5);
});
writeFileSync(
  'src/calibration/data/brightStarTable.ts',
  `// Made by scripts/make-star-table.mjs from d3-celestial's data/stars.6.json (BSD-3, (c) 2015 Olaf Frohn; after Hipparcos).
// Six bytes a star: right ascension (uint16, 360 degrees = 65535), declination (int16, 90 degrees = 32767),
// (V + 2) * 30 (uint8), (B - V) * 50 (int8). Little endian, base64.
export const BRIGHT_STAR_TABLE =
  '${bytes.toString('base64')}';
`,
);
