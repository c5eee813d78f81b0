import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoScene } from '../../src/scene/demoNight.js';
import { encodeShot } from '../../src/scene/encode.js';
import { planSchema, skySchema } from '../contracts/readingSchema.js';
import { paintstop } from '../support/run.js';
import { shoot } from '../support/scenes.js';

let folder: string;
let frame: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'paintstop-sky-'));
  frame = join(folder, 'moor.jpg');
  writeFileSync(frame, await encodeShot(shoot(demoScene()), 'jpeg'));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

const PLACE = ['--lat', '38', '--lon', '-3'];
const TWINS = ['--torch', 't:120lm/60deg@6m', '--torch', 't:100lm/60deg@6m'];

describe('paintstop sky', () => {
  it('tells direction, clock and the core over the hut', () => {
    const ran = paintstop(['sky', frame, ...PLACE, '--json']);
    expect(ran.status).toBe(0);
    const sky = skySchema.parse(JSON.parse(ran.out));
    expect(sky.solved).toBe(true);
    // The invented moor's camera looks to azimuth 190 degrees, level; its sky turns about the pole of J2000, 0.15 degrees from that of date.
    expect(Math.abs(sky.aim!.azimuthDeg - 190)).toBeLessThan(0.5);
    expect(Math.abs(sky.aim!.tiltDeg)).toBeLessThan(0.5);
    expect(Math.abs(sky.clockOffsetMinutes!)).toBeLessThan(5);
    expect(sky.core!.track.length).toBeGreaterThan(20);
    expect(sky.core!.track[0]!.at).toMatch(/\+02:00$/);
  });
  it('a clock an hour ahead is told', async () => {
    const late = join(folder, 'late.jpg');
    writeFileSync(late, await encodeShot(shoot(demoScene()), 'jpeg', undefined, '2026:07:15 00:10:00'));
    const sky = skySchema.parse(JSON.parse(paintstop(['sky', late, ...PLACE, '--json']).out));
    expect(Math.abs(sky.clockOffsetMinutes! - 60)).toBeLessThan(10);
    expect(sky.clockSays).toContain('daylight saving');
  });
  it('without a place the path has the clock of the frame and no heights', () => {
    const sky = skySchema.parse(JSON.parse(paintstop(['sky', frame, '--json', '--at', '400,700']).out));
    expect(sky.core!.track[0]!.altitudeDeg).toBeNull();
    expect(sky.subject).toEqual({ x: 400, y: 700, from: 'given' });
    // The core crosses this column at the time that the track says.
    const at = sky.core!.overSubjectAt!;
    const before = sky.core!.track.filter((point) => point.at <= at).at(-1)!;
    const after = sky.core!.track.find((point) => point.at > at)!;
    expect(before.x!).toBeLessThanOrEqual(400);
    expect(after.x!).toBeGreaterThanOrEqual(400);
  });
  it('follows another body and draws', () => {
    const picture = join(folder, 'sky.png');
    const ran = paintstop(['sky', frame, ...PLACE, '--body', 'ANTARES', '--picture', picture, '--json']);
    expect(skySchema.parse(JSON.parse(ran.out)).other!.body).toBe('Antares');
    expect(readFileSync(picture).subarray(1, 4).toString()).toBe('PNG');
    // The picture is ours; the frame is not to be written to.
    expect(paintstop(['sky', frame, '--picture', frame]).status).toBe(2);
  });
  it.each([
    [['--at', '5'], 'two numbers'],
    [['--at', ','], 'two numbers'],
    [['--at', '99999,3'], 'outside the frame'],
    [['--body', 'nemesis'], 'no body that is known'],
    [['--lat', '38'], 'belong together'],
    [['--tz', 'Nowhere/There'], 'no time zone'],
    [['--over', 'tree'], '--at X,Y'],
  ])('%j is wrong use', (args, says) => {
    const ran = paintstop(['sky', frame, ...args]);
    expect(ran.status).toBe(2);
    expect(ran.err).toContain(says);
    expect(ran.err).not.toContain('    at ');
  });
  it('text fits narrow terminals and carries the cautions', () => {
    const ran = paintstop(['sky', frame, ...PLACE], { COLUMNS: '44', NO_COLOR: '1' });
    expect(ran.status).toBe(0);
    expect(Math.max(...ran.out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(44);
    expect(ran.out.replace(/\s+/g, ' ')).toContain('forbid light painting');
  });
});

describe('paintstop plan', () => {
  const plan = (args: readonly string[]) => {
    const ran = paintstop(['plan', ...args, '--json']);
    expect(ran.status).toBe(0);
    return planSchema.parse(JSON.parse(ran.out));
  };
  it('a summer night: the core culminates in the dark', () => {
    const night = plan([...PLACE, '--date', '2026-07-14']);
    expect(night.zone).toBe('Europe/Madrid');
    // astropy 5.2.1: the core is due south at 22:28:11 UTC, 22.98 degrees high.
    expect(Math.abs(Date.parse(night.best!.at) - Date.parse('2026-07-14T22:28:11Z'))).toBeLessThan(6 * 60_000);
    expect(Math.abs(night.best!.altitudeDeg - 22.98)).toBeLessThan(0.1);
    expect(night.darkWindows).toHaveLength(1);
    expect(night.start!.iso).toBeLessThanOrEqual(6400);
  });
  it('moonlight asks for less: full Moon against new Moon', () => {
    const dark = plan([...PLACE, '--date', '2026-07-14', '--max-iso', '25600']);
    const bright = plan([...PLACE, '--date', '2026-06-29', '--max-iso', '25600']);
    expect(bright.moon.litFraction).toBeGreaterThan(0.97);
    expect(bright.start!.iso).toBeLessThan(dark.start!.iso);
  });
  it('no night, no dark, polar night', () => {
    expect(plan(['--lat', '68', '--lon', '25', '--date', '2026-06-21']).says).toContain('does not set');
    const white = plan(['--lat', '57', '--lon', '12', '--date', '2026-06-21']);
    expect(white.says).toContain('No full dark');
    expect(white.darkWindows).toEqual([]);
    const polar = plan(['--lat', '78', '--lon', '15', '--date', '2026-12-10']);
    expect(polar.twilight.sunset).toBeNull();
    // Dark hours are told to the minute: the Moon is down before the window opens.
    const [window] = plan([...PLACE, '--date', '2026-07-22']).darkWindows;
    const { moon } = plan([...PLACE, '--date', '2026-07-22']);
    expect(Math.abs(Date.parse(window!.from) - Date.parse(moon.set!))).toBeLessThan(8 * 60_000);
    expect(polar.core.length).toBeGreaterThan(140);
  });
  it('lamps from their boxes: twice the distance, four times the count', () => {
    const lamps = (metres: number) =>
      plan([...PLACE, '--date', '2026-07-14', '--torch', `torch:20lm/90deg@${String(metres)}m`]).lamps[0]!;
    expect(lamps(12).seconds! / lamps(6).seconds!).toBeCloseTo(4, 1);
    const [stand] = plan([...PLACE, '--date', '2026-07-14', '--stand-lamp', 'back:beam20m@10m']).lamps;
    // ANSI/PLATO FL 1: 20 m of beam are 100 cd.
    expect(stand!.intensityCd).toBe(100);
    expect(stand!.powerWanted).not.toBeNull();
  });
  it('an earlier frame tells lens and camera', () => {
    const own = plan([...PLACE, '--date', '2026-07-14', '--like', frame]);
    expect(own.start!.why).toContain('moor.jpg');
  });
  it('draws the night', () => {
    for (const name of ['night.png', 'night.svg']) {
      const chart = join(folder, name);
      expect(paintstop(['plan', ...PLACE, '--date', '2026-07-14', '--chart', chart]).status).toBe(0);
      expect(readFileSync(chart).length).toBeGreaterThan(1000);
    }
  });
  it.each([
    [[], 'place is not known'],
    [PLACE, 'evening is not known'],
    [[...PLACE, '--date', '2026-02-30'], 'date from'],
    [[...PLACE, '--date', '2026-07-14', '--torch', 'torch:90'], 'FL 1'],
    [[...PLACE, '--date', '2026-07-14', '--chart', 'night.gif'], '.svg'],
    [[...PLACE, '--date', '2026-07-14', ...TWINS], 'Two lights are called t'],
  ])('%j is wrong use', (args, says) => {
    const ran = paintstop(['plan', ...args]);
    expect(ran.status).toBe(2);
    expect(ran.err).toContain(says);
  });
  it('a trailing limit that no exposure keeps gives figures still', () => {
    const strict = ['--focal', '500', '--pixel-pitch', '1', '--trail-px', '0.5'];
    const ran = paintstop(['plan', ...PLACE, '--date', '2026-07-14', ...strict]);
    expect(ran.status).toBe(0);
    expect(ran.out).not.toMatch(/Infinity|NaN/);
  });
  it('text carries the cautions and fits', () => {
    const ran = paintstop(['plan', ...PLACE, '--date', '2026-07-14'], { COLUMNS: '60', NO_COLOR: '1' });
    const flat = ran.out.replace(/\s+/g, ' ');
    for (const word of ['Learn the ground by daylight', 'Tell someone', 'permits', 'fire bans', 'tide', 'Drive rested'])
      expect(flat).toContain(word);
    expect(Math.max(...ran.out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(70);
  });
});
