// Renders scenes and writes what the network sees of them, with the truth, for scripts/learn/train.py.
// node scripts/learn/render.mjs OUT wider|kinds FIRST COUNT JOBS     (seeds FIRST to FIRST + COUNT - 1)
// node scripts/learn/render.mjs OUT photos FOLDER                    (NAME.jpg with NAME.sky.png, white = sky)
// One file a frame: int32 width, height; int16 look x 8192 (interleaved); uint8 share of sky, uint8 share of source, of each cell.
import { spawn } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, existsSync, writeFileSync, renameSync } from 'node:fs';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { seededRandom } from '../../dist/math/random.js';
import { openFrame } from '../../dist/read/readFrame.js';
import { encodeShot } from '../../dist/scene/encode.js';
import { randomScene } from '../../dist/scene/randomScene.js';
import { openScene } from '../../dist/scene/shoot.js';
import { widerScene } from '../../dist/scene/widerScene.js';
import { lookOf } from '../../dist/segment/learned/look.js';

const [out, what, first, count, jobs, offset] = process.argv.slice(2);
mkdirSync(out, { recursive: true });

if (what === 'photos') for (const name of photos(first)) await photo(first, name);
else if (offset === undefined) await share();
else
  for (let n = Number(offset); n < Number(count); n += Number(jobs)) {
    const seed = Number(first) + n;
    const file = join(out, `${what}-${String(seed)}.bin`);
    if (existsSync(file)) continue;
    try {
      await render(seed, file);
    } catch (error) {
      console.error(`seed ${String(seed)}: ${error.message}`);
    }
  }

/** The same work in as many processes as asked for. */
async function share() {
  const own = fileURLToPath(import.meta.url);
  await Promise.all(
    Array.from(
      { length: Number(jobs) },
      (_, n) =>
        new Promise((done) => {
          spawn(process.execPath, [own, out, what, first, count, jobs, String(n)], { stdio: 'inherit' }).on(
            'exit',
            done,
          );
        }),
    ),
  );
}

/** Shoots a scene and puts its file through what happens to pictures: curves, denoising, saturation, smaller sizes, JPEG. */
async function render(seed, file) {
  const random = seededRandom(seed * 977 + 5);
  const spec = what === 'wider' ? widerScene(seed) : randomScene(seed, { widthPx: 1296, heightPx: 864 });
  const shot = openScene(spec).shoot(spec.settings, spec.lamps, 1);
  const curve = { gainStops: random.between(0, 1.2), contrast: random.between(0, 0.9) };
  const plain = random.next() < 0.35;
  const bytes = await encodeShot(shot, plain ? 'jpeg' : 'camera', curve);
  let picture = sharp(bytes);
  if (random.next() < 0.3) picture = picture.median(random.pick([3, 5]));
  if (random.next() < 0.25) picture = picture.blur(random.between(0.5, 1.8));
  if (random.next() < 0.35) picture = picture.modulate({ saturation: random.between(0.4, 1.8) });
  if (random.next() < 0.2) picture = picture.sharpen({ sigma: random.between(0.6, 1.5) });
  if (random.next() < 0.3) {
    const size = Math.round(Math.max(spec.widthPx, spec.heightPx) * random.between(0.5, 0.95));
    picture = picture.resize({ width: size, height: size, fit: 'inside' });
  }
  const seen = await picture.jpeg({ quality: Math.round(random.between(55, 97)) }).toBuffer();
  const sky = Buffer.from(shot.truth.mask.map((value) => (value === 0 ? 255 : 0)));
  const source = Buffer.from(shot.truth.mask.map((value) => (value === 255 ? 255 : 0)));
  await write(file, seen, plane(sky, spec.widthPx, spec.heightPx), plane(source, spec.widthPx, spec.heightPx));
}

function photos(folder) {
  return readdirSync(folder)
    .filter((name) => /\.jpe?g$/i.test(name) && existsSync(join(folder, maskOf(name))))
    .sort();
}

function maskOf(name) {
  return name.replace(/\.jpe?g$/i, '.sky.png');
}

async function photo(folder, name) {
  const mask = sharp(join(folder, maskOf(name))).greyscale();
  await write(join(out, `photo-${basename(name, '.jpg')}.bin`), readFileSync(join(folder, name)), mask, null);
}

function plane(values, width, height) {
  return sharp(values, { raw: { width, height, channels: 1 } });
}

async function write(file, bytes, sky, source) {
  const opened = await openFrame(bytes, basename(file), {}, {});
  const look = lookOf(await opened.grid);
  await opened.frame;
  const { width, height, values } = look;
  const shareOf = async (image) =>
    image === null
      ? Buffer.alloc(width * height)
      : image.resize(width, height, { fit: 'fill', kernel: 'linear' }).greyscale().raw().toBuffer();
  const whole = Int16Array.from(values, (value) => Math.round(Math.max(-3.9, Math.min(3.9, value)) * 8192));
  const parts = [
    Buffer.from(Int32Array.of(width, height).buffer),
    Buffer.from(whole.buffer),
    await shareOf(sky),
    await shareOf(source),
  ];
  writeFileSync(`${file}.part`, Buffer.concat(parts));
  renameSync(`${file}.part`, file);
}
