// How soon a frame is answered after it is whole, and whether memory stays flat over many frames.
// node tests/bench/watch.mjs [frames]   (build first)
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { encodeShot } from '../../dist/scene/encode.js';
import { randomScene } from '../../dist/scene/randomScene.js';
import { openScene } from '../../dist/scene/shoot.js';

const frames = Number(process.argv[2] ?? 200);
const room = mkdtempSync(join(tmpdir(), 'paintstop-bench-'));
const folder = mkdtempSync(join(room, 'in-'));
const program = fileURLToPath(new URL('../../bin/paintstop.js', import.meta.url));
const env = { ...process.env, XDG_STATE_HOME: room, XDG_CACHE_HOME: join(room, 'c'), XDG_CONFIG_HOME: join(room, 'k') };

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
const shotOf = (seed, widthPx, heightPx) => {
  const spec = randomScene(seed, { widthPx, heightPx });
  return openScene(spec).shoot(spec.settings, spec.lamps);
};

function start() {
  const child = spawn(process.execPath, [program, 'watch', folder, '--json'], { env });
  let lines = 0;
  let ready = false;
  child.stdout.on('data', (text) => (lines += String(text).split('\n').length - 1));
  child.stderr.on('data', (text) => (ready ||= String(text).includes('watching')));
  const until = async (holds) => {
    while (!holds()) await pause(10);
  };
  return {
    ready: () => until(() => ready),
    answers: (count) => until(() => lines >= count),
    residentMB: () => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'))[1]) / 1024,
    stop: () => child.kill('SIGTERM'),
  };
}

const big = shotOf(1, 5472, 3648);
const bigJpeg = await encodeShot(big, 'jpeg');
const bigRaw = await encodeShot(big, 'raw');
for (const [name, parts] of [
  ['20-megapixel JPEG', [['a.jpg', bigJpeg]]],
  [
    '20-megapixel raw and JPEG',
    [
      ['b.jpg', bigJpeg],
      ['b.dng', bigRaw],
    ],
  ],
]) {
  const times = [];
  for (let round = 0; round < 3; round++) {
    const own = start();
    await own.ready();
    await pause(1500);
    for (const [file, bytes] of parts)
      writeFileSync(join(folder, `${String(round)}${file}`), Buffer.concat([bytes, Buffer.from([0, round])]));
    const since = performance.now();
    await own.answers(1);
    times.push((performance.now() - since) / 1000);
    own.stop();
    await pause(500);
  }
  console.log(`${name}: first answer ${times.map((time) => time.toFixed(2)).join(', ')} s after it was whole`);
}

const small = await encodeShot(shotOf(2, 1296, 864), 'jpeg');
const own = start();
await own.ready();
for (let n = 0; n < frames; n++) {
  writeFileSync(join(folder, `run-${String(n)}.jpg`), Buffer.concat([small, Buffer.from(String(n))]));
  await own.answers(n + 1);
  if (n % Math.ceil(frames / 10) === 0 || n === frames - 1)
    console.log(`frame ${String(n + 1)}: ${own.residentMB().toFixed(0)} MB`);
}
own.stop();
rmSync(room, { recursive: true, force: true });
