// Unpacking camera raw to linear R G B against `dcraw -D` (Debian), in one run, as a ratio. Never a timed test.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { unpackRawApart } from '../../dist/machine/rawDecoder.js';
import { encodeDng } from '../../dist/scene/dng.js';
import { randomScene } from '../../dist/scene/randomScene.js';
import { openScene } from '../../dist/scene/shoot.js';

let path = process.argv[2];
if (path === undefined) {
  const spec = randomScene(1004, { widthPx: 5472, heightPx: 3648 });
  path = join(mkdtempSync(join(tmpdir(), 'paintstop-bench-')), 'x.dng');
  writeFileSync(path, encodeDng(openScene(spec).shoot(spec.settings, spec.lamps), '2026:07:14 23:10:00'));
}
const bytes = readFileSync(path);
const ratios = [];
for (let round = 0; round < 7; round++) {
  let started = performance.now();
  execFileSync('dcraw', ['-D', '-4', '-c', path], { maxBuffer: 1e9 });
  const reference = performance.now() - started;
  started = performance.now();
  await unpackRawApart(bytes, path);
  const own = performance.now() - started;
  ratios.push(own / reference);
  console.log(`dcraw -D ${reference.toFixed(0)} ms, unpacked to linear light ${own.toFixed(0)} ms`);
}
ratios.sort((a, b) => a - b);
console.log(`median ratio ${ratios[3].toFixed(2)} (wished: at most 2)`);
