// Puts what the program prints now into the README's sample, and makes its pictures again. Run after a build.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';

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
for (const name of ['try-1.png', 'try-2.png'])
  await sharp(join(folder, name))
    .resize({ width: 972 })
    .png({ palette: true, colours: 128 })
    .toFile(join('docs/pictures', name));
