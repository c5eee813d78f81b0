// Puts what the program prints now into the README's sample, and makes its pictures again. Run after a build.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { UNICODE_STROKES } from '../dist/present/watch/gauges.js';
import { watchScreen } from '../dist/present/watch/watchScreen.js';

const folder = mkdtempSync(join(tmpdir(), 'paintstop-readme-'));
const run = (...args) =>
  execFileSync(process.execPath, ['bin/paintstop.js', ...args], {
    encoding: 'utf8',
    env: { ...process.env, COLUMNS: '110', NO_COLOR: '1' },
  });
run('demo', '--pictures', folder);
const sample = run('frame', join(folder, 'moor-0412.dng'), '--held', 'torch:3s@6m', '--stand', 'back@8m*0.5').trimEnd();
const readme = readFileSync('README.md', 'utf8');
const start = readme.indexOf('rest is why.\n\n```\n') + 'rest is why.\n\n```\n'.length;
const end = readme.indexOf('\n```\n\nWhat it found');
writeFileSync('README.md', readme.slice(0, start) + sample + readme.slice(end));
run(
  'frame',
  join(folder, 'moor-0412.dng'),
  '--held',
  'torch:3s@6m',
  '--stand',
  'back@8m*0.5',
  '--preview',
  join(folder, 'preview.png'),
);
run('sky', join(folder, 'moor-0412.dng'), '--lat', '38', '--lon', '-3', '--picture', join(folder, 'sky.png'));
for (const name of ['preview.png', 'try-1.png', 'try-2.png', 'sky.png'])
  await sharp(join(folder, name))
    .resize({ width: 972 })
    .png({ palette: true, colours: 128 })
    .toFile(join('docs/pictures', name));

// The screen of watch, letter by letter on a grid of 80 x 24.
const lamps = ['--held', 'torch:3s@6m', '--stand', 'back@8m*0.5'];
const reading = JSON.parse(run('frame', join(folder, 'moor-0412.dng'), ...lamps, '--json'));
const view = {
  folder: 'card',
  isThere: true,
  reading: null,
  waiting: 0,
  frame: { reading, lamps: reading.lights, noted: [], sincePrevious: null, foretold: null },
  tries: [
    {
      file: reading.file,
      skyMissStops: reading.regions.sky.levelStops - reading.balance.skyTargetStops,
      balanceMissStops: reading.balance.stops - reading.balance.targetStops,
      balanced: false,
      newSetup: false,
    },
  ],
  nextLamps: reading.lights,
  nextNoted: [],
  typed: 'torch 2',
  says: null,
  help: false,
  outlook: null,
};
const [cell, row] = [9, 18];
const letters = watchScreen(view, 80, 24, UNICODE_STROKES).flatMap(({ text, first }, y) => {
  const colour = first ? '#af0000' : '#870000';
  return Array.from(text, (letter, x) => {
    if (letter === ' ') return '';
    const at = `x="${x * cell}" y="${y * row}"`;
    if (letter === '█') return `<rect ${at} width="${cell}" height="${row}" fill="${colour}"/>`;
    const safe = letter.replace('&', '&amp;').replace('<', '&lt;');
    return `<text x="${x * cell}" y="${y * row + 14}" font-family="monospace" font-size="15" fill="${colour}">${safe}</text>`;
  });
});
await sharp(
  Buffer.from(
    `<svg xmlns="http://www.w3.org/2000/svg" width="${80 * cell}" height="${24 * row}"><rect width="100%" height="100%"/>${letters.join('')}</svg>`,
  ),
)
  .png({ palette: true, colours: 16 })
  .toFile('docs/pictures/watch.png');
