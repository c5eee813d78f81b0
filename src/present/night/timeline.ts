import { scaleLinear } from 'd3-scale';
import type { Night, NightFrame } from '../../model/night.js';
import { escaped } from './html.js';

const WIDTH = 960;
const LEFT = 64;
const RIGHT = 16;
const ROW = 120;
const GAP = 34;

interface Line {
  readonly name: string;
  /** SVG dash pattern; lines are told by pattern and label, not by colour. */
  readonly dash: string;
  readonly value: (frame: NightFrame) => number | null;
}

interface Row {
  readonly title: string;
  readonly lines: readonly Line[];
  /** Wished values, drawn as thin lines. */
  readonly wished: readonly number[];
}

/** The night as four rows over one another: levels, balance, camera, and Sun, Moon and core. Frames stand evenly, in time order. */
export function timelineSvg(night: Night): string {
  const target = night.frames[0]?.balance;
  const log = (value: number | null, unit: number): number | null => (value === null ? null : Math.log2(value / unit));
  const all: readonly Row[] = [
    {
      title: 'level, stops from clipping',
      wished: target === undefined ? [] : [target.skyTargetStops],
      lines: [
        { name: 'sky', dash: '', value: ({ regions }) => regions.sky.levelStops },
        { name: 'paint', dash: '7 4', value: ({ regions }) => regions.painted.levelStops },
      ],
    },
    {
      title: 'paint over sky, stops',
      wished: target === undefined ? [] : [target.targetStops],
      lines: [{ name: 'balance', dash: '', value: ({ balance }) => balance.stops }],
    },
    {
      title: 'camera, stops',
      wished: [],
      lines: [
        { name: 'ISO over 100', dash: '', value: ({ settings }) => log(settings.iso, 100) },
        { name: 'shutter over 1 s', dash: '2 4', value: ({ settings }) => log(settings.shutterSeconds, 1) },
      ],
    },
    {
      title: 'altitude, degrees',
      wished: [0],
      lines: [
        { name: 'Sun', dash: '', value: ({ sky }) => sky?.sunAltitudeDeg ?? null },
        { name: 'Moon', dash: '7 4', value: ({ sky }) => sky?.moonAltitudeDeg ?? null },
        { name: 'core', dash: '2 4', value: ({ sky }) => sky?.coreAltitudeDeg ?? null },
      ],
    },
  ];
  const rows = all.filter(({ lines }) =>
    lines.some(({ value }) => night.frames.some((frame) => value(frame) !== null)),
  );
  const height = rows.length * (ROW + GAP) + 40;
  const x = scaleLinear([0, Math.max(1, night.frames.length - 1)], [LEFT + 14, WIDTH - RIGHT - 90]);
  const drawn = rows.map((row, n) => drawRow(row, night, x, n * (ROW + GAP) + 24));
  return `<svg viewBox="0 0 ${String(WIDTH)} ${String(height)}" role="img" aria-label="The night, frame by frame">${drawn.join('')}${places(night, x, height - 26)}</svg>`;
}

type Scale = (value: number) => number;

/** A row spans at least this much: finer differences are not seen in a picture, nor measured. */
const LEAST_SPAN = 2;

function drawRow({ title, lines, wished }: Row, { frames }: Night, x: Scale, top: number): string {
  const values = lines.flatMap(({ value }) => frames.map(value)).filter((value) => value !== null);
  const [low, high] = [Math.min(...values, ...wished), Math.max(...values, ...wished)];
  const wider = Math.max(0, LEAST_SPAN - (high - low)) / 2;
  const y = scaleLinear([low - wider, high + wider], [top + ROW, top + 14]).nice(4);
  const parts = [`<text class="title" x="${String(LEFT)}" y="${String(top)}">${escaped(title)}</text>`];
  for (const tick of y.ticks(4))
    parts.push(
      `<line class="grid" x1="${String(LEFT)}" x2="${String(WIDTH - RIGHT - 80)}" y1="${place(y(tick))}" y2="${place(y(tick))}"/><text class="tick" x="${String(LEFT - 8)}" y="${place(y(tick) + 4)}">${String(tick)}</text>`,
    );
  for (const wish of wished)
    parts.push(
      `<line class="wish" x1="${String(LEFT)}" x2="${String(WIDTH - RIGHT - 80)}" y1="${place(y(wish))}" y2="${place(y(wish))}"/>`,
    );
  const ends: { name: string; at: number }[] = [];
  for (const { name, dash, value } of lines) {
    const points = frames.map((frame, n) => ({ n, value: value(frame) })).filter((point) => point.value !== null);
    if (points.length === 0) continue;
    // A line is broken where a new setup begins: what lies between is a walk.
    const path = points
      .map((point, m) => {
        const fresh = m === 0 || frames[points[m - 1]!.n]!.setup !== frames[point.n]!.setup;
        return `${fresh ? 'M' : 'L'}${place(x(point.n))} ${place(y(point.value!))}`;
      })
      .join('');
    parts.push(`<path class="line" d="${path}" stroke-dasharray="${dash}"/>`);
    for (const point of points)
      parts.push(`<circle class="dot" cx="${place(x(point.n))}" cy="${place(y(point.value!))}" r="2.6"/>`);
    ends.push({ name, at: y(points[points.length - 1]!.value!) });
  }
  ends.sort((a, b) => a.at - b.at);
  ends.forEach((end, n) => {
    const at = n === 0 ? end.at : Math.max(end.at, ends[n - 1]!.at + 13);
    ends[n] = { ...end, at };
    parts.push(`<text class="name" x="${String(WIDTH - RIGHT - 78)}" y="${place(at + 4)}">${escaped(end.name)}</text>`);
  });
  return parts.join('');
}

/** Which frames belong to which setup, under the rows. */
function places({ setups, frames }: Night, x: Scale, y: number): string {
  return setups
    .map(({ id, frames: own }) => {
      const at = frames.map(({ setup }, n) => (setup === id ? n : -1)).filter((n) => n >= 0);
      const [from, to] = [x(at[0]!), x(at[at.length - 1]!)];
      return `<line class="bracket" x1="${place(from - 4)}" x2="${place(to + 4)}" y1="${String(y)}" y2="${String(y)}"/><text class="tick middle" x="${place((from + to) / 2)}" y="${String(y + 16)}">setup ${String(id)} (${String(own.length)})</text>`;
    })
    .join('');
}

function place(value: number): string {
  return value.toFixed(1);
}
