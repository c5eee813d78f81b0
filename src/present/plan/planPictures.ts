import type { Plan } from '../../model/plan.js';
import { GLYPH_HEIGHT } from '../picture/glyphs.js';
import { Sheet } from '../picture/sheet.js';
import { planChart, type PlanChart } from './planChart.js';

/** Marks an SVG that this program wrote. */
export const PLAN_SVG_MARK = '<!-- paintstop plan -->';

/** The chart as SVG text; null when there is no night to draw. */
export function planSvg(plan: Plan): string | null {
  const chart = planChart(plan);
  if (chart === null) return null;
  const { width, height, bands, lines, words } = chart;
  const shades = bands.map(
    (band) =>
      `<rect x="${fixed(band.x)}" y="50" width="${fixed(band.width)}" height="${fixed(height - 110)}" fill="rgb(${String(band.grey)},${String(band.grey)},${String(band.grey)})"/>`,
  );
  const strokes = lines.map(
    ({ points, pattern, heavy }) =>
      `<polyline fill="none" stroke="#ddd" stroke-width="${heavy ? '3' : '1.5'}"${pattern[1] === 0 ? '' : ` stroke-dasharray="${pattern.join(' ')}"`} points="${points.map((point) => `${fixed(point.x)},${fixed(point.y)}`).join(' ')}"/>`,
  );
  const texts = words.map(
    (own) =>
      `<text x="${fixed(own.x)}" y="${fixed(own.y)}">${own.text.replace(/&/g, '&amp;').replace(/</g, '&lt;')}</text>`,
  );
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${String(width)}" height="${String(height)}" viewBox="0 0 ${String(width)} ${String(height)}" font-family="sans-serif" font-size="15" fill="#ddd" role="img">`,
    PLAN_SVG_MARK,
    `<title>Core and Moon, ${plan.date}</title>`,
    `<rect width="${String(width)}" height="${String(height)}" fill="#000"/>`,
    ...shades,
    ...strokes,
    ...texts,
    '</svg>\n',
  ].join('\n');
}

/** The chart as PNG bytes; null when there is no night to draw. */
export function planPng(plan: Plan): Buffer | null {
  const chart = planChart(plan);
  return chart === null ? null : drawn(chart);
}

function drawn({ width, height, bands, lines, words }: PlanChart): Buffer {
  const sheet = new Sheet(width, height);
  for (const { x, width: wide, grey } of bands)
    for (let px = Math.max(60, Math.round(x)); px < Math.min(width - 20, x + wide); px++)
      for (let py = 50; py < height - 60; py++) sheet.dot(px, py, [grey, grey, grey]);
  for (const { points, pattern, heavy } of lines) sheet.path(points, pattern, heavy ? 1 : 0);
  for (const { x, y, text } of words) sheet.text(x, y - 2 * GLYPH_HEIGHT, text, 2);
  return sheet.bytes();
}

function fixed(value: number): string {
  return value.toFixed(1);
}
