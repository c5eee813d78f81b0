import { scaleLinear, scaleTime } from 'd3-scale';
import type { Plan } from '../../model/plan.js';
import { clockOf } from '../../physics/localTime.js';

/** A chart as lines, bands and words in pixels: what the SVG and the PNG are drawn from. */
export interface PlanChart {
  readonly width: number;
  readonly height: number;
  readonly bands: readonly { readonly x: number; readonly width: number; readonly grey: number }[];
  readonly lines: readonly {
    readonly points: readonly { readonly x: number; readonly y: number }[];
    readonly pattern: readonly number[];
    readonly heavy: boolean;
  }[];
  readonly words: readonly { readonly x: number; readonly y: number; readonly text: string }[];
}

const WIDTH = 960;
const HEIGHT = 520;
const LEFT = 60;
const RIGHT = 20;
const TOP = 50;
const BOTTOM = 60;
/** Of an hour's label in the wider of the two drawings. */
const CLOCK_WIDTH = 60;
/** Of a curve's name. */
const NAME_WIDTH = 60;

/** Grey behind the curves: the darker, the further the Sun is down. */
function greyOf(sunAltitudeDeg: number): number {
  return sunAltitudeDeg < -18 ? 10 : sunAltitudeDeg < -12 ? 34 : sunAltitudeDeg < -6 ? 62 : 96;
}

const SOLID = [100, 0];
const DASHED = [9, 7];
const FAINT = [1, 7];

/** Height of core and Moon through the night over bands of twilight. Null when there is no night to draw. */
export function planChart(plan: Plan): PlanChart | null {
  const hours = plan.core;
  if (hours.length < 2) return null;
  // Wall clocks run straight through a night but for an hour's change, which a chart may bend.
  const times = hours.map(({ at }) => Date.parse(at));
  const x = scaleTime()
    .domain([times[0]!, times.at(-1)!])
    .range([LEFT, WIDTH - RIGHT]);
  const y = scaleLinear()
    .domain([0, 90])
    .range([HEIGHT - BOTTOM, TOP]);
  const step = (x(times[1]!) - x(times[0]!)) / 2;
  const curve = (heights: readonly number[]): { x: number; y: number }[][] => {
    const runs: { x: number; y: number }[][] = [];
    let before = false;
    heights.forEach((height, n) => {
      if (height >= 0) {
        if (!before) runs.push([]);
        runs.at(-1)!.push({ x: x(times[n]!), y: y(height) });
      }
      before = height >= 0;
    });
    return runs.filter((run) => run.length > 1);
  };
  const core = curve(hours.map(({ altitudeDeg }) => altitudeDeg));
  const moon = curve(hours.map(({ moonAltitudeDeg }) => moonAltitudeDeg));
  const marks = [0, 15, 30, 45, 60, 75];
  const onTheHour = hours.filter(({ at }) => clockOf(at).endsWith(':00'));
  const top = (runs: readonly (readonly { x: number; y: number }[])[]): { x: number; y: number } | undefined =>
    runs
      .flat()
      .reduce<{ x: number; y: number } | undefined>(
        (best, own) => (best === undefined || own.y < best.y ? own : best),
        undefined,
      );
  const [coreTop, moonTop] = [top(core), top(moon)];
  // Two names at one place: the Moon's stands under its curve.
  const meet =
    coreTop !== undefined &&
    moonTop !== undefined &&
    Math.abs(coreTop.x - moonTop.x) < NAME_WIDTH &&
    Math.abs(coreTop.y - moonTop.y) < 24;
  const named = [
    { place: coreTop, text: 'CORE', down: -10 },
    { place: moonTop, text: 'MOON', down: meet ? 24 : -10 },
  ];
  return {
    width: WIDTH,
    height: HEIGHT,
    bands: hours.map(({ sunAltitudeDeg }, n) => ({
      x: x(times[n]!) - step,
      width: 2 * step + 0.5,
      grey: greyOf(sunAltitudeDeg),
    })),
    lines: [
      ...marks.map((height) => ({
        points: [
          { x: LEFT, y: y(height) },
          { x: WIDTH - RIGHT, y: y(height) },
        ],
        pattern: height === 0 ? SOLID : FAINT,
        heavy: false,
      })),
      ...core.map((points) => ({ points, pattern: SOLID, heavy: true })),
      ...moon.map((points) => ({ points, pattern: DASHED, heavy: false })),
    ],
    words: [
      { x: LEFT, y: 24, text: `${plan.date}  ${plan.moon.says}` },
      { x: 14, y: TOP - 6, text: 'altitude' },
      ...marks.map((height) => ({ x: 14, y: y(height) + 6, text: `${String(height)}°` })),
      ...onTheHour.map(({ at }) => ({
        x: Math.min(x(Date.parse(at)) - CLOCK_WIDTH / 2, WIDTH - CLOCK_WIDTH - 4),
        y: HEIGHT - BOTTOM + 24,
        text: clockOf(at),
      })),
      ...named.flatMap(({ place, text, down }) =>
        place === undefined ? [] : [{ x: Math.max(LEFT + 4, place.x - 20), y: place.y + down, text }],
      ),
      {
        x: LEFT,
        y: HEIGHT - 10,
        text: 'solid: core; dashed: Moon; darker bands: Sun 6, 12, 18° down',
      },
    ],
  };
}
