import type { Distribution, GroundProfile } from '../../model/distribution.js';
import type { Finding, Lessons, Remedy } from '../../model/lesson.js';
import type { Reading } from '../../model/reading.js';
import { SAFETY_SENTENCES } from '../cautions.js';
import { escaped } from '../night/html.js';
import { outcomeInWords } from './whyText.js';

/** What the page is drawn from beside the lessons. PNG bytes. */
export interface LessonPictures {
  readonly whole: Buffer;
  readonly findings: readonly Buffer[];
  readonly stars: Buffer | null;
}

/** So many findings are told in full; the page is to be printed on two. */
const IN_FULL = 5;

/** One page that needs no network: the lessons of a frame with their pictures, printable on two sheets. */
export function lessonReport(
  lessons: Lessons,
  reading: Reading,
  pictures: LessonPictures,
  distribution: Distribution,
  profile: GroundProfile | null,
): string {
  const { findings, file } = lessons;
  const full = findings.slice(0, IN_FULL);
  const others = findings.slice(IN_FULL);
  const { iso, shutterSeconds, aperture, focalMm } = reading.settings;
  const told = (value: number | null): string => (value === null ? '?' : String(value));
  return `<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><meta name="generator" content="paintstop">
<title>Why: ${escaped(file)}</title><style>${STYLE}</style></head><body>
<h1>Why did ${escaped(file)} come out so?</h1>
<p class="faint">ISO ${told(iso)}, ${told(shutterSeconds)} s, f/${told(aperture)}, ${told(focalMm)} mm. Levels are stops under clipping; where the file hides the truth, the words say probably or about.</p>
<div class="top"><figure>${image(pictures.whole, 'The frame with its regions and clipped places outlined')}</figure>
<figure>${distributionSvg(distribution, reading)}<figcaption>How light is spread in each region. Dotted uprights: targets of sky and paint. Right edge: clipping.</figcaption></figure></div>
${lessons.doubt === null ? '' : `<p><strong>In doubt:</strong> ${escaped(lessons.doubt)}</p>`}
${findings.length === 0 && lessons.doubt === null ? '<p>Nothing to teach: sky, paint, highlights and stars are as they should be.</p>' : ''}
${full.map((finding, n) => lesson(finding, n + 1, pictures.findings[n]!, pictures.stars)).join('\n')}
${profile === null ? '' : `<figure class="small">${profileSvg(profile)}<figcaption>Painted light by distance in the picture from its hottest place (dots), and how a lamp ${profile.lampHeight === null ? 'would fall' : `${String(Math.round(100 * profile.lampHeight))} % of the frame's width over flat ground falls`} by the inverse square (line).</figcaption></figure>`}
${pictures.stars === null || full.some(({ region }) => region === 'stars') ? '' : `<figure class="small">${image(pictures.stars, 'Some stars, enlarged')}<figcaption>Some stars of this frame, pixel by pixel.</figcaption></figure>`}
${others.length === 0 ? '' : `<p>Smaller things: ${others.map(({ sees }) => escaped(sees)).join(' ')}</p>`}
${lessons.lamps === null ? '' : `<p>${escaped(lessons.lamps)}</p>`}
<p class="faint">${SAFETY_SENTENCES.map(escaped).join(' ')}</p>
</body></html>
`;
}

function image(bytes: Buffer, alt: string): string {
  return `<img alt="${escaped(alt)}" src="data:image/png;base64,${bytes.toString('base64')}">`;
}

function lesson(finding: Finding, number: number, picture: Buffer, stars: Buffer | null): string {
  const { title, sees, because, law, arithmetic, check, remedies, region } = finding;
  const shown = region === 'stars' && stars !== null ? stars : picture;
  return `<article><figure>${image(shown, `${title}: the place`)}</figure><div><h2>${String(number)}. ${escaped(title)}</h2>
<p>${escaped(sees)} ${escaped(because)}</p><p class="sum">${escaped(law)}<br>${escaped(arithmetic)}</p>
<table><tr><th>What would have helped</th><th>it gives</th><th>its price</th></tr>${remedies.map(row).join('')}</table>
<p><em>In the field:</em> ${escaped(check)}</p></div></article>`;
}

function row({ does, gives, price }: Remedy): string {
  return `<tr><td>${escaped(does)}</td><td>${gives === null ? '' : escaped(outcomeInWords(gives))}</td><td>${escaped(price)}</td></tr>`;
}

const WIDE = 460;
const HIGH = 210;
/** Where the names of the outlines stand: the first row that has room. */
const NAME_ROWS = [30, 18, 9];
const NAME_WIDTH = 44;

/** Three outlines over one scale of stops: told apart by their dashes, named at their peaks. */
function distributionSvg({ lowestStops, stepStops, ...regions }: Distribution, { balance }: Reading): string {
  const x = (stops: number): number => 20 + ((stops - lowestStops) / -lowestStops) * (WIDE - 40);
  const named = [
    ['sky', regions.sky, '', NAME_ROWS],
    ['painted', regions.painted, '7 4', NAME_ROWS.slice(1)],
    ['unlit', regions.unlit, '2 4', NAME_ROWS],
  ] as const;
  const taken: { at: number; row: number }[] = [];
  const curves = named.map(([name, shares, dash, rows]) => {
    const most = Math.max(...shares);
    if (most <= 0) return '';
    const points = shares.map(
      (share, n) =>
        `${x(lowestStops + n * stepStops).toFixed(1)},${(HIGH - 30 - (share / most) * (HIGH - 70)).toFixed(1)}`,
    );
    const at = Math.max(24, Math.min(WIDE - 30, x(lowestStops + shares.indexOf(most) * stepStops)));
    const row = rows.find((y) => taken.every((own) => own.row !== y || Math.abs(own.at - at) > NAME_WIDTH))!;
    taken.push({ at, row });
    return `<polyline fill="none" stroke="currentColor" stroke-width="1.6"${dash === '' ? '' : ` stroke-dasharray="${dash}"`} points="${points.join(' ')}"/><text x="${at.toFixed(1)}" y="${String(row)}" text-anchor="middle">${name}</text>`;
  });
  const targets = [balance.skyShownTargetStops, balance.skyShownTargetStops + balance.targetStops].map(
    (stops) =>
      `<line x1="${x(stops).toFixed(1)}" x2="${x(stops).toFixed(1)}" y1="40" y2="${String(HIGH - 30)}" stroke="currentColor" stroke-dasharray="1 3"/>`,
  );
  const marks = Array.from({ length: 7 }, (_, n) => -12 + 2 * n).map(
    (stops) => `<text x="${x(stops).toFixed(1)}" y="${String(HIGH - 10)}" text-anchor="middle">${String(stops)}</text>`,
  );
  return `<svg viewBox="0 0 ${String(WIDE)} ${String(HIGH)}" role="img" aria-label="Spread of light in stops under clipping"><line x1="20" x2="${String(WIDE - 20)}" y1="${String(HIGH - 30)}" y2="${String(HIGH - 30)}" stroke="currentColor"/>${targets.join('')}${curves.join('')}${marks.join('')}</svg>`;
}

function profileSvg({ rings, lampHeight }: GroundProfile): string {
  const most = rings.at(-1)!.radius;
  const x = (radius: number): number => 30 + (radius / most) * (WIDE - 60);
  const y = (stops: number): number => 20 + (-stops / 6) * (HIGH - 60);
  const dots = rings.map(
    ({ radius, stops }) =>
      `<circle cx="${x(radius).toFixed(1)}" cy="${y(Math.max(-6, Math.min(0.5, stops))).toFixed(1)}" r="3" fill="currentColor"/>`,
  );
  const law = (radius: number): number => -1.5 * Math.log2(1 + (radius / lampHeight!) ** 2);
  const line =
    lampHeight === null
      ? ''
      : `<polyline fill="none" stroke="currentColor" points="${rings.map(({ radius }) => `${x(radius).toFixed(1)},${y(Math.max(-6, law(radius) - law(rings[0]!.radius))).toFixed(1)}`).join(' ')}"/>`;
  const marks = [0, -2, -4, -6].map((stops) => `<text x="4" y="${(y(stops) + 4).toFixed(1)}">${String(stops)}</text>`);
  return `<svg viewBox="0 0 ${String(WIDE)} ${String(HIGH)}" role="img" aria-label="Painted light by distance from its hottest place">${line}${dots.join('')}${marks.join('')}</svg>`;
}

const STYLE = `
:root{color-scheme:light dark;--ink:#1d1b18;--paper:#faf8f4;--faint:#6f6a60;--rule:#d8d2c6}
@media (prefers-color-scheme:dark){:root{--ink:#cfc6b8;--paper:#12100e;--faint:#8d8578;--rule:#37322b}}
@page{size:A4;margin:11mm}
@media print{:root{--ink:#000;--paper:#fff;--faint:#444;--rule:#bbb}body{font-size:8pt!important;line-height:1.28!important;margin:0!important;max-width:none!important}article{break-inside:avoid}article figure img{max-height:30mm}.top img{max-height:52mm}.small{width:62mm;display:inline-block;margin-right:6mm;vertical-align:top}}
body{font:16px/1.4 Georgia,'Times New Roman',serif;color:var(--ink);background:var(--paper);max-width:64rem;margin:1.5rem auto;padding:0 1rem}
h1,h2{font-weight:normal;line-height:1.2;margin:.2rem 0}h1{font-size:1.5em}h2{font-size:1.15em}
.top{display:grid;grid-template-columns:1fr 1fr;gap:1rem}figure{margin:0}img{max-width:100%;height:auto}svg{width:100%;height:auto}svg text{font:12px Georgia,serif;fill:currentColor}
figcaption,.faint{color:var(--faint);font-size:.85em}
article{display:grid;grid-template-columns:minmax(0,15rem) minmax(0,1fr);gap:.3rem 1rem;border-top:1px solid var(--rule);padding:.5rem 0}
p{margin:.25rem 0}.sum{font-family:ui-monospace,monospace}.small{max-width:26rem}
table{border-collapse:collapse;font-size:.9em;width:100%}th,td{text-align:left;vertical-align:top;padding:.1rem .5rem .1rem 0;border-bottom:1px solid var(--rule);font-weight:normal}th{color:var(--faint)}
@media (max-width:40rem){article,.top{grid-template-columns:1fr}}
`;
