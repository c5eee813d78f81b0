// Makes the pictures of the README: the demo night as the program draws it, halved. Run after a build: node scripts/make-pictures.mjs
import { execFileSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';

const folder = mkdtempSync(join(tmpdir(), 'paintstop-pictures-'));
execFileSync(process.execPath, ['bin/paintstop.js', 'demo', '--pictures', folder]);
for (const name of ['try-1.png', 'try-2.png'])
  await sharp(join(folder, name))
    .resize({ width: 972 })
    .png({ palette: true, colours: 128 })
    .toFile(join('docs/pictures', name));
