// Renders scenes and writes what the network sees of them, with the truth, for scripts/learn/train.py.
// node scripts/learn/render.mjs OUT wider|kinds FIRST COUNT JOBS     (seeds FIRST to FIRST + COUNT - 1)
// node scripts/learn/render.mjs OUT photos FOLDER                    (NAME.jpg with NAME.sky.png, white = sky; NAME.unlit: no lamp in it)
// node scripts/learn/render.mjs OUT made FOLDER SECONDS JOBS         (frames of another renderer, taken as they come: see README.md)
// One file a frame: int32 width, height; int16 look x 8192 (interleaved); of each cell uint8 shares of sky, of source, of painted land, and the
// land's log2(lamp light / ambient light), -4 to 4 as 0 to 255, times the land's share.
import { spawn } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, existsSync, rmSync, writeFileSync, renameSync } from 'node:fs';
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
const SHOTS = 3;

if (what === 'photos') for (const name of photos(first)) await photo(first, name);
else if (what === 'made' && offset !== undefined) await makeAll(first, Number(count), Number(jobs), Number(offset));
else if (offset === undefined) await share();
else
  for (let n = Number(offset); n < Number(count); n += Number(jobs)) {
    const seed = Number(first) + n;
    if (existsSync(join(out, nameOf(seed, SHOTS - 1)))) continue;
    try {
      await render(seed);
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

/** Shoots a scene with several settings and lamps, the first its own, and writes each. */
async function render(seed) {
  const random = seededRandom(seed * 977 + 5);
  const spec = what === 'wider' ? widerScene(seed) : randomScene(seed, { widthPx: 1296, heightPx: 864 });
  const scene = openScene(spec);
  for (let n = 0; n < SHOTS; n++) {
    const iso = n === 0 ? spec.settings.iso : spec.settings.iso * 2 ** random.between(-3, 2);
    const power = n === 0 ? 0 : random.between(-5, 1.5);
    const lamps = spec.lamps.map((lamp) => ({
      ...lamp,
      power: lamp.power * 2 ** (power + (n === 0 ? 0 : random.between(-1, 1))),
    }));
    const shot = scene.shoot({ ...spec.settings, iso }, n > 0 && random.next() < 0.1 ? [] : lamps, n + 1);
    const share = (value) =>
      plane(Buffer.from(shot.truth.mask.map((own) => (own === value ? 255 : 0))), spec.widthPx, spec.heightPx);
    const seen = await pictureOf(shot, random);
    const { mask, lampOverAmbient } = shot.truth;
    const ratio = plane(
      Buffer.from(mask.map((own, i) => (own === 85 || own === 170 ? codeOf(Math.log2(lampOverAmbient[i])) : 0))),
      spec.widthPx,
      spec.heightPx,
    );
    await write(join(out, nameOf(seed, n)), seen, share(0), share(255), share(170), ratio);
  }
}

/** Stops from -4 to 4 as a byte. */
function codeOf(stops) {
  return Math.round(((Math.max(-4, Math.min(4, Number.isNaN(stops) ? -4 : stops)) + 4) / 8) * 255);
}

/** The last digit is the shot's. */
function nameOf(seed, shot) {
  return `${what}-${String(seed)}${String(shot)}.bin`;
}

/** A shot's file, after what happens to pictures: curves, denoising, saturation, smaller sizes, JPEG. */
async function pictureOf(shot, random) {
  const { spec } = shot;
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
  return picture.jpeg({ quality: Math.round(random.between(55, 97)) }).toBuffer();
}

/** Frames that another program writes into `folder` meanwhile: NAME.rgb16 (linear), NAME.sky, NAME.src, NAME.pnt (0 or 255), NAME.rat (as codeOf, 0 off land), NAME.json. */
async function makeAll(folder, seconds, jobs, offset) {
  const end = Date.now() + seconds * 1000;
  while (Date.now() < end) {
    const names = readdirSync(folder)
      .filter((name) => name.endsWith('.rgb16'))
      .map((name) => name.slice(0, -6))
      .filter((name) => numberOf(name) % jobs === offset);
    for (const name of names) await made(folder, name);
    if (names.length === 0) await new Promise((done) => setTimeout(done, 1000));
  }
}

function numberOf(name) {
  return Number(/\d+$/.exec(name)[0]);
}

async function made(folder, name) {
  const of = (ending) => readFileSync(join(folder, name + ending));
  const { w: widthPx, h: heightPx, iso, shutter: shutterSeconds, N: aperture } = JSON.parse(of('.json').toString());
  const raw = of('.rgb16');
  const light = Float32Array.from(
    new Uint16Array(raw.buffer, raw.byteOffset, raw.length / 2),
    (value) => value / 65535,
  );
  const spec = { widthPx, heightPx, focalMm: 14, pixelPitchUm: 6 };
  const shot = { spec, settings: { iso, shutterSeconds, aperture }, light };
  const seen = await pictureOf(shot, seededRandom(numberOf(name) * 977 + 5));
  const share = (ending) => plane(of(ending), widthPx, heightPx);
  await write(join(out, `${name}.bin`), seen, share('.sky'), share('.src'), share('.pnt'), share('.rat'));
  for (const ending of ['.rgb16', '.sky', '.src', '.pnt', '.rat', '.json']) rmSync(join(folder, name + ending));
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
  const own = basename(name, '.jpg');
  const kind = existsSync(join(folder, `${own}.unlit`)) ? 'photo-unlit' : 'photo';
  await write(join(out, `${kind}-${own}.bin`), readFileSync(join(folder, name)), mask, null, null, null);
}

function plane(values, width, height) {
  return sharp(values, { raw: { width, height, channels: 1 } });
}

async function write(file, bytes, sky, source, painted, ratio) {
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
    await shareOf(painted),
    await shareOf(ratio),
  ];
  writeFileSync(`${file}.part`, Buffer.concat(parts));
  renameSync(`${file}.part`, file);
}
