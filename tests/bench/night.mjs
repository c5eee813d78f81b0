// A night of 20-megapixel JPEGs read on all cores against decoding them on all cores, in one run, as a ratio; and its peak memory.
// node tests/bench/night.mjs [frames] [JPEG]. Never a timed test.
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { encodeShot } from '../../dist/scene/encode.js';
import { randomScene } from '../../dist/scene/randomScene.js';
import { openScene } from '../../dist/scene/shoot.js';

const frames = Number(process.argv[2] ?? 24);
const folder = mkdtempSync(join(tmpdir(), 'paintstop-bench-'));
let bytes;
if (process.argv[3] === undefined) {
  const spec = { ...randomScene(1004, { widthPx: 5472, heightPx: 3648 }), fullScaleElectrons: 1500 };
  bytes = await encodeShot(openScene(spec).shoot(spec.settings, spec.lamps), 'jpeg');
} else bytes = readFileSync(process.argv[3]);
for (let n = 0; n < frames; n++)
  writeFileSync(join(folder, `f${String(n).padStart(4, '0')}.jpg`), Buffer.concat([bytes, Buffer.from(String(n))]));

sharp.concurrency(1);
let started = performance.now();
let next = 0;
const lane = async () => {
  while (next < frames)
    await sharp(readFileSync(join(folder, `f${String(next++).padStart(4, '0')}.jpg`)))
      .raw()
      .toBuffer();
};
await Promise.all(Array.from({ length: availableParallelism() }, lane));
const decode = performance.now() - started;

started = performance.now();
const child = spawn(process.execPath, ['bin/paintstop.js', 'night', folder, '--no-cache', '--json'], {
  stdio: 'ignore',
});
let peak = 0;
const watch = setInterval(() => {
  try {
    peak = Math.max(peak, Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))?.[1] ?? 0));
  } catch {
    // The process has ended.
  }
}, 100);
await new Promise((resolve) => child.once('exit', resolve));
clearInterval(watch);
const night = performance.now() - started;
rmSync(folder, { recursive: true });
console.log(
  `${frames} frames of ${(bytes.length / 1e6).toFixed(1)} MB: decoded alone ${(decode / 1000).toFixed(1)} s, read as a night ${(night / 1000).toFixed(1)} s, throughput ${(decode / night).toFixed(2)} of decoding alone (wished: at least 0.4), peak memory ${(peak / 1024).toFixed(0)} MB (wished: under 1500)`,
);
