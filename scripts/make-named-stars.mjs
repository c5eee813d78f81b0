// Writes the brightest stars that have a name of their own into src/calibration/data/namedStars.ts, from the npm package d3-celestial (BSD-3,
// data/starnames.json and data/stars.6.json, after Hipparcos). Run: node scripts/make-named-stars.mjs
import { readFileSync, writeFileSync } from 'node:fs';

const folder = 'node_modules/d3-celestial/data/';
const names = JSON.parse(readFileSync(`${folder}starnames.json`, 'utf8'));
const stars = JSON.parse(readFileSync(`${folder}stars.6.json`, 'utf8')).features;
const FAINTEST = 2.6;
const lines = stars
  .filter(({ id, properties }) => properties.mag <= FAINTEST && names[id]?.name)
  .sort((a, b) => a.properties.mag - b.properties.mag)
  .map(({ id, geometry }) => {
    const [longitude, declination] = geometry.coordinates;
    const rightAscension = Number(((longitude + 360) % 360).toFixed(4));
    const name = names[id].name.includes("'") ? JSON.stringify(names[id].name) : `'${names[id].name}'`;
    return `  [${name}, ${rightAscension}, ${declination}],`;
  });
writeFileSync(
  'src/calibration/data/namedStars.ts',
  `// Made by scripts/make-named-stars.mjs from d3-celestial's data/starnames.json and data/stars.6.json (BSD-3, (c) 2015 Olaf Frohn; after
// Hipparcos): name, right ascension and declination in degrees (J2000), brightest first.
export const NAMED_STARS: readonly (readonly [string, number, number])[] = [
${lines.join('\n')}
];
`,
);
