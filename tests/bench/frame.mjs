// Time and memory of reading one 20-megapixel JPEG, as ratios against decoding alone, in one run. Never a timed test.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { skyNetworkApart } from '../../dist/machine/skyNetworkApart.js';
import { readOneFrame } from '../../dist/pipeline/readOneFrame.js';
import { DEFAULT_WISHES } from '../../dist/model/wishes.js';
import { encodeShot } from '../../dist/scene/encode.js';
import { randomScene } from '../../dist/scene/randomScene.js';
import { openScene } from '../../dist/scene/shoot.js';

const given = process.argv[2];
let bytes;
if (given === undefined) {
  const spec = { ...randomScene(1004, { widthPx: 5472, heightPx: 3648 }), fullScaleElectrons: 1500 };
  bytes = await encodeShot(openScene(spec).shoot(spec.settings, spec.lamps), 'jpeg');
} else bytes = readFileSync(given);

async function readIt() {
  await readOneFrame(bytes, 'bench.jpg', {}, [], DEFAULT_WISHES, { network: skyNetworkApart });
}

/** The peak of a process that reads this one frame and nothing else, MB. */
function peakMegabytes() {
  const folder = mkdtempSync(join(tmpdir(), 'paintstop-bench-'));
  try {
    const file = join(folder, 'bench.jpg');
    writeFileSync(file, bytes);
    return Number(execFileSync(process.execPath, [fileURLToPath(import.meta.url), file, 'peak'], { encoding: 'utf8' }));
  } finally {
    rmSync(folder, { recursive: true });
  }
}

if (process.argv[3] === 'peak') {
  await readIt();
  console.log((process.resourceUsage().maxRSS / 1024).toFixed(0));
  process.exit();
}

const ratios = [];
for (let round = 0; round < 7; round++) {
  let started = performance.now();
  await sharp(bytes).raw().toBuffer();
  const decode = performance.now() - started;
  started = performance.now();
  await readIt();
  const read = performance.now() - started;
  ratios.push(read / decode);
  console.log(
    `decode ${decode.toFixed(0)} ms, read + measure + advise ${read.toFixed(0)} ms, ratio ${(read / decode).toFixed(2)}`,
  );
}
ratios.sort((a, b) => a - b);
console.log(
  `${(bytes.length / 1e6).toFixed(1)} MB JPEG: median ratio ${ratios[3].toFixed(2)} (wished: at most 2.5), peak memory of one read ${peakMegabytes()} MB`,
);
