import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import sharp from 'sharp';
import { skyNetwork, wasmEngine } from '../../src/machine/skyNetwork.js';
import { seededRandom } from '../../src/math/random.js';
import type { Frame } from '../../src/model/frame.js';
import { REGION, type Regions } from '../../src/model/regions.js';
import { openFrame } from '../../src/read/readFrame.js';
import { encodeShot } from '../../src/scene/encode.js';
import { randomScene } from '../../src/scene/randomScene.js';
import { openScene } from '../../src/scene/shoot.js';
import { widerScene } from '../../src/scene/widerScene.js';
import { lookOf } from '../../src/segment/learned/look.js';
import { buildNetwork } from '../../src/segment/learned/network.js';
import { settleRegions, splitGrid } from '../../src/segment/segmentFrame.js';

// Sky and painted ground found with and without the network. node .accuracy/tests/accuracy/regions.js photos FOLDER - [weights]
//                                         node .accuracy/tests/accuracy/regions.js six|wider FIRST COUNT [weights]
const [what = 'six', first = '1', count = '24', weights] = process.argv.slice(2);
const network =
  weights === undefined ? await skyNetwork() : buildNetwork(await wasmEngine(), new Uint8Array(readFileSync(weights)));

interface Found {
  readonly classical: number;
  readonly learned: number;
  readonly confidence: number;
  readonly by: string;
  readonly levelError: number;
  /** Of the painted ground; null where next to nothing is painted, or where nobody marked it. */
  readonly paint: { readonly classical: number; readonly learned: number } | null;
}

const LEAST_PAINT = 0.005;

const all: Found[] = [];
if (what === 'photos')
  for (const name of readdirSync(first).filter((own) => own.endsWith('.jpg'))) {
    const mask = join(first, name.replace('.jpg', '.sky.png'));
    if (!existsSync(mask)) continue;
    await tell(basename(name, '.jpg'), readFileSync(join(first, name)), async ({ widthPx, heightPx }) =>
      sharp(mask)
        .greyscale()
        .resize(widthPx, heightPx, { fit: 'fill', kernel: 'nearest' })
        .raw()
        .toBuffer()
        .then((values) => Uint8Array.from(values, (value) => (value > 127 ? REGION.sky : REGION.unlit))),
    );
  }
else
  for (let seed = Number(first); seed < Number(first) + Number(count); seed++) {
    const random = seededRandom(seed * 977 + 5);
    const spec = what === 'wider' ? widerScene(seed) : randomScene(seed, { widthPx: 1296, heightPx: 864 });
    const shot = openScene(spec).shoot(spec.settings, spec.lamps);
    const curve = { gainStops: random.between(0, 1.2), contrast: random.between(0, 0.9) };
    const bytes = await encodeShot(shot, random.next() < 0.35 ? 'jpeg' : 'camera', curve);
    await tell(`${what} ${String(seed)}`, bytes, () => Promise.resolve(shot.truth.mask));
  }
for (const way of ['classical', 'learned'] as const) {
  const at = quantilesOf(all.map((found) => found[way]));
  console.log(`${way}: IoU median ${at(0.5).toFixed(4)}, worst tenth ${at(0.1).toFixed(4)}, least ${at(0).toFixed(4)}`);
}
const painted = all.flatMap(({ paint }) => (paint === null ? [] : [paint]));
if (painted.length > 0)
  for (const way of ['classical', 'learned'] as const) {
    const at = quantilesOf(painted.map((paint) => paint[way]));
    console.log(
      `${way}: painted IoU median ${at(0.5).toFixed(3)}, worst tenth ${at(0.1).toFixed(3)}, of ${String(painted.length)} with paint`,
    );
  }
const errors = quantilesOf(all.map(({ levelError }) => levelError));
console.log(`level of sky and ground by the network's mask within ${errors(0.95).toFixed(2)} stop in 95 %`);

function quantilesOf(values: readonly number[]): (part: number) => number {
  const sorted = [...values].sort((a, b) => a - b);
  return (part) => sorted[Math.floor((sorted.length - 1) * part)]!;
}

async function tell(name: string, bytes: Uint8Array, truthOf: (frame: Frame) => Promise<Uint8Array>): Promise<void> {
  const opened = await openFrame(bytes, name, {}, {});
  const grid = await opened.grid;
  const { frame } = await opened.frame;
  const truth = await truthOf(frame);
  const plain = settleRegions(frame, grid, splitGrid(grid));
  const learned = settleRegions(frame, grid, splitGrid(grid, { sight: await network.look(lookOf(grid)) }));
  const found = {
    classical: overlap(plain, truth, REGION.sky),
    learned: overlap(learned, truth, REGION.sky),
    confidence: learned.confidence,
    by: learned.by,
    levelError: levelError(frame, learned, truth),
    paint:
      truth.reduce((sum, value) => sum + (value === REGION.painted ? 1 : 0), 0) < LEAST_PAINT * truth.length
        ? null
        : {
            classical: overlap(plain, truth, REGION.painted),
            learned: overlap(learned, truth, REGION.painted),
          },
  };
  all.push(found);
  console.log(
    `${name.padEnd(22)} classical ${found.classical.toFixed(4)} network ${found.learned.toFixed(4)} ${found.by} ${found.confidence.toFixed(3)} ratio off ${found.levelError.toFixed(2)}`,
  );
}

/** Sources count for neither side. */
function overlap({ fineMask }: Regions, truth: Uint8Array, region: number): number {
  let both = 0;
  let either = 0;
  for (let i = 0; i < fineMask.length; i++) {
    if (truth[i] === REGION.source) continue;
    const own = fineMask[i] === region;
    if (own && truth[i] === region) both++;
    if (own || truth[i] === region) either++;
  }
  return either === 0 ? 1 : both / either;
}

/** How far the ratio of ground to sky (medians of the green sample's light, stops) is off by the mask alone. */
function levelError(frame: Frame, { fineMask }: Regions, truth: Uint8Array): number {
  const ratio = (isSky: (i: number) => boolean): number | null => {
    const light: [number[], number[]] = [[], []];
    for (let i = 0; i < fineMask.length; i += 11)
      light[isSky(i) ? 0 : 1].push(frame.toLinear[1][frame.samples[i * 3 + 1]!] ?? 0);
    if (light[0].length < 50 || light[1].length < 50) return null;
    const middle = (values: number[]): number => Math.log2(values.sort((a, b) => a - b)[values.length >> 1]! + 1e-4);
    return middle(light[1]) - middle(light[0]);
  };
  const own = ratio((i) => fineMask[i] === REGION.sky);
  const true_ = ratio((i) => truth[i] === REGION.sky);
  return own === null || true_ === null ? 0 : Math.abs(own - true_);
}
