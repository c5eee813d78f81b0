// Writes docs/lessons: one page a lesson from the lessons' own words, with an invented picture of the fault and of its cure, and the whole
// arithmetic on one sheet. Run after `npm run build`: node scripts/make-lessons.mjs [--words]  (--words leaves the pictures as they are)
import { mkdirSync, writeFileSync } from 'node:fs';
import sharp from 'sharp';
import { encodeShot } from '../dist/scene/encode.js';
import { demoScene } from '../dist/scene/demoNight.js';
import { openScene } from '../dist/scene/shoot.js';
import { LESSONS } from '../dist/teach/list.js';

const folder = 'docs/lessons';
mkdirSync(`${folder}/pictures`, { recursive: true });

/** Stars and grain are looked at from near. */
const isClose = (id) => id.startsWith('stars-') || id === 'noise-high';
const plain = (words) => words.replace(/\{(\w+)\}/g, (_, name) => `*${name.replace(/([A-Z])/g, ' $1').toLowerCase()}*`);
const pageOf = ({ id, title, sees, because, law, arithmetic, check, source, limits }) => `# ${title}

Id: \`${id}\`. Words in italics are numbers of the frame.

| the fault | its cure |
| --- | --- |
| ![${title}](pictures/${id}.png) | ![Without it](pictures/${isClose(id) ? 'sound-close' : 'sound'}.png) |

**What you see.** ${plain(sees)}

**Why.** ${plain(because)}

**The law.** \`${law}\`

With the frame's numbers: \`${arithmetic.replace(/[{}]/g, '')}\`

**In the field.** ${plain(check)}

Source: ${source}. Limits: ${limits}

[All lessons](README.md)
`;
for (const lesson of LESSONS) writeFileSync(`${folder}/${lesson.id}.md`, pageOf(lesson));
writeFileSync(
  `${folder}/README.md`,
  `# Lessons

What \`paintstop why\` teaches, one page a finding. Generated from the program's own words (\`scripts/make-lessons.mjs\`).

${LESSONS.map(({ id, title }) => `- [${title}](${id}.md)`).join('\n')}

[The whole arithmetic on one sheet](arithmetic.md), [glossary](glossary.md).
`,
);
writeFileSync(
  `${folder}/arithmetic.md`,
  `# The whole arithmetic on one sheet

| what | law | source |
| --- | --- | --- |
${LESSONS.filter(({ law }, n) => LESSONS.findIndex((other) => other.law === law) === n)
  .map(({ title, law, source }) => `| ${title} | \`${law.replaceAll('|', '/')}\` | ${source} |`)
  .join('\n')}

ISO and aperture stand on both sides of painted / sky and cancel: they move everything together. Shutter stands under the sky only; paint time, power and distance over the paint only.

[All lessons](README.md)
`,
);
if (!process.argv.includes('--words')) {
  const base = demoScene(648);
  const [torch, back] = base.lamps;
  const lamps = (held, stand, changes = {}) => [
    { ...torch, levelStops: held, ...changes },
    { ...back, levelStops: stand },
  ];
  const cure = { ...base, skyStops: -3.6, lamps: lamps(-2.6, -4) };
  const faults = {
    'painted-clipped': { lamps: lamps(0.6, -2) },
    'source-clipped': { headlamp: true, blade: true },
    'sky-clipped': { moon: true, skyStops: -2.2 },
    'sky-low': { skyStops: -6.2, lamps: lamps(-5, -6.4) },
    'sky-high': { skyStops: -1.6 },
    'paint-low': { lamps: lamps(-5.4, -7) },
    'paint-high': { lamps: lamps(-0.9, -2.4) },
    'paint-uneven': { lamps: lamps(-2.2, -6, { distanceM: 1.8, heightM: 0.6, beamDeg: 25 }) },
    'stars-trailed': { settings: { ...base.settings, shutterSeconds: 240 }, lamps: lamps(-2.6, -7.3), skyStops: -3.6 },
    'stars-shaken': { shakePx: 9, shakeDeg: 35 },
    'stars-defocused': { defocusPx: 8 },
    'stars-coma': { comaPx: 16 },
    'ground-crushed': { ambientStops: -9, lamps: lamps(-3.4, -9) },
    'noise-high': { fullScaleElectrons: 120, readNoiseElectrons: 3 },
    'colour-clash': { lamps: lamps(-2.6, -9, { colour: [2.2, 1, 0.15] }), skyColour: [0.7, 1, 1.9] },
    'preview-misleads': { skyStops: -5.6, lamps: lamps(-4.6, -6) },
  };
  const draw = async (spec, path, close) => {
    const shot = openScene(spec).shoot(spec.settings, spec.lamps);
    const bytes = await encodeShot(shot, 'jpeg');
    const part = close ? { left: 20, top: 10, width: 144, height: 108 } : { left: 0, top: 0, width: 648, height: 432 };
    await sharp(bytes)
      .extract(part)
      .resize({ width: 432, kernel: close ? 'nearest' : 'lanczos3' })
      .png({ palette: true, colours: 48 })
      .toFile(path);
  };
  for (const { id } of LESSONS) await draw({ ...cure, ...faults[id] }, `${folder}/pictures/${id}.png`, isClose(id));
  await draw(cure, `${folder}/pictures/sound.png`, false);
  await draw(cure, `${folder}/pictures/sound-close.png`, true);
}
