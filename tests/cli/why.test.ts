import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoScene } from '../../src/scene/demoNight.js';
import { encodeShot } from '../../src/scene/encode.js';
import { whatIfSchema, whySchema } from '../contracts/readingSchema.js';
import { paintstop } from '../support/run.js';
import { shoot } from '../support/scenes.js';

let folder: string;
let frame: string;
const LAMPS = ['--held', 'torch:3s@6m', '--stand', 'back@8m*0.5'];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-why-'));
  frame = join(folder, 'moor.jpg');
  writeFileSync(frame, await encodeShot(shoot(demoScene()), 'jpeg'));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

const chromium = ((): string | null => {
  try {
    return execFileSync('sh', ['-c', 'command -v chromium || command -v chromium-browser'], {
      encoding: 'utf8',
    }).trim();
  } catch {
    return null;
  }
})();

describe('paintstop why', () => {
  it('teaches the demo frame: too much paint for its sky, gravest first', () => {
    const ran = paintstop(['why', frame, ...LAMPS, '--json']);
    expect(ran.status).toBe(0);
    const { findings } = whySchema.parse(JSON.parse(ran.out));
    expect(
      findings
        .slice(0, 2)
        .map(({ id }) => id)
        .sort(),
    ).toEqual(['paint-high', 'painted-clipped']);
    const gravities = findings.map(({ gravity }) => gravity);
    expect(gravities).toEqual([...gravities].sort((a, b) => b - a));
    const halved = findings
      .find(({ id }) => id === 'paint-high')!
      .remedies.find(({ does }) => does.includes('half as long'))!;
    expect(halved.changes).toEqual([{ what: 'paintTime', light: 'torch', from: 3, to: 1.5, factor: 0.5 }]);
  });
  it('text fits and carries the cautions where a walk is spoken of', () => {
    const ran = paintstop(['why', frame, ...LAMPS], { COLUMNS: '50', NO_COLOR: '1' });
    expect(Math.max(...ran.out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(52);
    expect(ran.out.replace(/\s+/g, ' ')).toContain('forbid light painting');
  });
  it('the page is whole, needs no network, and prints on two sheets', () => {
    const page = join(folder, 'why.html');
    const ran = paintstop(['why', frame, ...LAMPS, '--html', page]);
    expect(ran.status).toBe(0);
    const text = readFileSync(page, 'utf8');
    expect(text).not.toMatch(/<script|https?:\/\/(?!www\.w3\.org)/);
    expect(text.split('<article').length - 1).toBe(text.split('</article>').length - 1);
    // HTML Tidy, Debian's `tidy`: errors and warnings on standard error, status 0 without any.
    try {
      execFileSync('tidy', ['-e', '-q', page], { stdio: ['ignore', 'ignore', 'pipe'] });
    } catch (cause) {
      if ((cause as NodeJS.ErrnoException).code !== 'ENOENT') throw cause;
      console.log('skipped: no tidy to check the page with');
    }
    if (chromium === null) {
      console.log('skipped: no chromium to print with');
      return;
    }
    const pdf = join(folder, 'why.pdf');
    execFileSync(chromium, ['--headless', '--no-sandbox', `--print-to-pdf=${pdf}`, `file://${page}`], {
      stdio: 'ignore',
    });
    const sheets = readFileSync(pdf, 'latin1').match(/\/Type\s*\/Page[^s]/g) ?? [];
    expect(sheets.length).toBeLessThanOrEqual(2);
    // A page that we did not write is left alone.
    const other = join(folder, 'own.html');
    writeFileSync(other, 'mine');
    expect(paintstop(['why', frame, '--html', other]).status).toBe(2);
    expect(readFileSync(other, 'utf8')).toBe('mine');
  });
  it('with other frames of the setup it speaks of single lamps, or says that it cannot', () => {
    const ran = paintstop(['why', frame, ...LAMPS, '--with', folder, '--json']);
    expect(whySchema.parse(JSON.parse(ran.out)).lamps).not.toBeNull();
  });
});

describe('paintstop what-if', () => {
  it('ISO doubles everything, a halved count halves its own light', () => {
    const ran = paintstop(['what-if', frame, ...LAMPS, '--to-iso', '3200', '--json']);
    expect(ran.status).toBe(0);
    const iso = whatIfSchema.parse(JSON.parse(ran.out));
    expect(iso.predicted.skyStops! - iso.now.skyStops!).toBeCloseTo(1, 1);
    expect(Math.abs(iso.predicted.balanceStops! - iso.now.balanceStops!)).toBeLessThan(0.1);
    const count = whatIfSchema.parse(
      JSON.parse(paintstop(['what-if', frame, '--held', 'torch:3s', '--to-held', 'torch:1.5s', '--json']).out),
    );
    expect(count.predicted.skyStops).toBe(count.now.skyStops);
    expect(count.predicted.balanceStops! - count.now.balanceStops!).toBeLessThan(-0.6);
  });
  it('a distance goes with the square; lamps without notes by a factor', () => {
    const far = paintstop(['what-if', frame, '--held', 'torch:3s@6m', '--to-held', 'torch:3s@12m', '--json']);
    expect(whatIfSchema.parse(JSON.parse(far.out)).changes[0]!.factor).toBeCloseTo(0.25, 6);
    const paint = paintstop(['what-if', frame, '--to-paint', '0.5', '--json']);
    expect(whatIfSchema.parse(JSON.parse(paint.out)).changes[0]!.factor).toBe(0.5);
  });
  it('draws both', () => {
    const picture = join(folder, 'so.png');
    expect(paintstop(['what-if', frame, ...LAMPS, '--to-shutter', '15', '--preview', picture]).status).toBe(0);
    expect(readFileSync(picture).subarray(1, 4).toString()).toBe('PNG');
  });
  it.each([
    [[], 'Nothing is changed'],
    [['--to-held', 'lantern:2s'], 'without a held light called lantern'],
    [['--to-iso', 'many'], 'number'],
    [['--held', 'torch:3s', '--to-shutter', '2'], 'does not fit into a shutter'],
    [['--held', 'torch:3s', '--to-held', 'torch:1s', '--to-held', 'torch:2s'], 'Two lights are called'],
    [['--held', 'torch:3s', '--to-paint', '0.5'], 'without lamp notes'],
  ])('%j is wrong use', (args, says) => {
    const ran = paintstop(['what-if', frame, ...args]);
    expect(ran.status).toBe(2);
    expect(ran.err).toContain(says);
  });

  it('says of a frame without a sky that none could be measured', async () => {
    const black = join(folder, 'black.png');
    await sharp({ create: { width: 600, height: 400, channels: 3, background: '#000' } }).toFile(black);
    const ran = paintstop(['what-if', black, '--iso', '100', '--to-iso', '3200']);
    expect(ran.out).toContain('No sky could be measured');
    expect(ran.out).not.toContain('inside what is wished');
  });
});
