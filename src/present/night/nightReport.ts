import type { Night, NightFrame, Setup } from '../../model/night.js';
import { SAFETY_SENTENCES } from '../cautions.js';
import { commonFaults } from './faults.js';
import { escaped } from './html.js';
import { setupWarnings } from './setupWarnings.js';
import { timelineSvg } from './timeline.js';

/**
 * The night as one HTML file that asks for nothing: no network, no script; dark or light as the reader's screen is, black on white in
 * print. `thumbnails`: base64 JPEG by frame.
 */
export function nightReport(night: Night, thumbnails: ReadonlyMap<string, string>): string {
  const byName = new Map(night.frames.map((frame) => [frame.file, frame]));
  const title = `Night of ${night.frames[0]?.settings.takenAt?.slice(0, 10) ?? 'unknown date'}`;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="paintstop">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">
<link rel="icon" href="data:,">
<title>${escaped(title)}</title>
<style>${STYLE}</style>
</head>
<body>
<h1>${escaped(title)}</h1>
<p>${escaped(night.folder)}: ${String(night.frames.length)} frames in ${String(night.setups.length)} setups${night.failed.length > 0 ? `, ${String(night.failed.length)} files not read` : ''}.</p>
${skyParagraph(night)}
<figure>${timelineSvg(night)}<figcaption>Frames in time order. The thin broken lines are what was wished for. Lines break where the camera was moved.</figcaption></figure>
<h2>Next time</h2>
${nextTime(night)}
<h2>The best of each setup</h2>
<div class="picks">${night.setups.map(({ id, picks }) => pickOf(id, picks[0]!, byName, thumbnails)).join('')}</div>
${night.setups.map((setup) => setupSection(setup, byName, thumbnails)).join('\n')}
${failures(night)}
${METHOD}
<h2>Before you walk in the dark</h2>
<p>${SAFETY_SENTENCES.map(escaped).join(' ')}</p>
</body>
</html>
`;
}

function skyParagraph({ frames }: Night): string {
  const first = frames.find(({ sky }) => sky !== null);
  const last = [...frames].reverse().find(({ sky }) => sky !== null);
  if (!first?.sky || !last?.sky)
    return '<p>Where the night was is not known, so Sun and Moon are not told (give --lat and --lon).</p>';
  const told = (frame: NightFrame): string =>
    `${frame.settings.takenAt?.slice(11, 16) ?? ''}: ${frame.sky?.says ?? ''}`;
  return `<p>${escaped(told(first))}</p><p>${escaped(told(last))}</p>`;
}

function nextTime(night: Night): string {
  const faults = commonFaults(night);
  if (faults.length === 0) return '<p>Nothing was wrong often enough to name.</p>';
  return `<ol>${faults.map(({ says, count }) => `<li>In ${String(count)} of ${String(night.frames.length)} frames ${escaped(says)}</li>`).join('')}</ol>`;
}

function setupSection(
  { id, frames, picks, outlook }: Setup,
  byName: ReadonlyMap<string, NightFrame>,
  thumbnails: ReadonlyMap<string, string>,
): string {
  const tries = frames.map((file, n) => tryOf(byName.get(file)!, n + 1, picks.indexOf(file), thumbnails.get(file)));
  return `<section><h2>Setup ${String(id)}</h2><p>Best: ${picks.map((file) => `<strong>${escaped(file)}</strong>`).join(', then ')}.</p>${outlook === null ? '' : `<p>${escaped(outlook.says)}</p>`}${tries.join('')}</section>`;
}

function tryOf(frame: NightFrame, n: number, pick: number, thumbnail: string | undefined): string {
  const { settings, grade, regions, balance } = frame;
  const or = (value: number | null, unit: string): string =>
    value === null ? '?' : `${String(Number(value.toPrecision(3)))}${unit}`;
  const stops = (value: number | null): string => (value === null ? 'not known' : `${value.toFixed(1)} stops`);
  const picture =
    thumbnail === undefined ? '' : `<img alt="${escaped(frame.file)}" src="data:image/jpeg;base64,${thumbnail}">`;
  const reasons = grade.reasons.map(({ points, says }) => `<li>${points.toFixed(1)} off: ${escaped(says)}</li>`);
  return `<article><h3>Try ${String(n)}${settings.takenAt === null ? '' : `, ${settings.takenAt.slice(11, 16)}`}${pick === 0 ? ' · the best' : pick > 0 ? ' · as good' : ''}</h3>${picture}<div>
<p class="file">${escaped(frame.file)}, ISO ${or(settings.iso, '')}, ${or(settings.shutterSeconds, ' s')}, f/${or(settings.aperture, '')}</p>
<p class="score">${String(grade.score)} of 100</p>
<p>Sky ${stops(regions.sky.levelStops)}; paint ${balance.stops === null ? 'not found' : `${balance.stops.toFixed(1)} over it`}${regions.painted.clipped.any < 0.0005 ? '' : `; ${(regions.painted.clipped.any * 100).toFixed(1)} % of the paint clipped`}.</p>
${doubtful(frame) ? '<p>In doubt: sky and ground are hard to tell apart in this frame.</p>' : ''}
${frame.sky === null ? '' : `<p class="file">${escaped(frame.sky.says)}</p>`}
${setupWarnings(frame)
  .map((message) => `<p>${escaped(message)}</p>`)
  .join('')}
${frame.sincePrevious === null ? '' : `<p>Since the try before: ${escaped(frame.sincePrevious.says)}</p>`}
${reasons.length === 0 ? '' : `<ul>${reasons.join('')}</ul>`}
${frame.advice.verdict === 'adjust' ? `<p>The advice was: ${escaped(frame.advice.summary)}</p>` : ''}
</div></article>`;
}

/** The best frame of a setup, with its score. */
function pickOf(
  id: number,
  file: string,
  byName: ReadonlyMap<string, NightFrame>,
  thumbnails: ReadonlyMap<string, string>,
): string {
  const thumbnail = thumbnails.get(file);
  const picture =
    thumbnail === undefined ? '' : `<img alt="${escaped(file)}" src="data:image/jpeg;base64,${thumbnail}">`;
  return `<figure>${picture}<figcaption>Setup ${String(id)}: ${escaped(file)}, ${String(byName.get(file)!.grade.score)} of 100</figcaption></figure>`;
}

function doubtful({ warnings }: NightFrame): boolean {
  return warnings.some(({ code }) => code === 'uncertain-regions');
}

function failures({ failed }: Night): string {
  if (failed.length === 0) return '';
  return `<h2>Not read</h2><ul>${failed.map(({ message }) => `<li>${escaped(message)}</li>`).join('')}</ul>`;
}

const METHOD = `<h2>How it was measured</h2>
<p>Levels are stops under clipping in linear light (IEC 61966-2-1 for display files, DNG 1.7.1 for raw). The sky's level is that of its background without stars; paint over sky is the median of the painted ground over it. Stars: plain second moments, trail = sqrt(12 (a² - b²)); allowed by the full NPF rule (k = 2). Score: 100 less 18 a stop that the sky is outside its tolerance (at most 45), 20 a stop for paint over sky (at most 45), 6 for each doubling of clipped paint beyond 0.5 % (at most 35), 12 for each doubling of trail beyond the limit where the stars trail or the tripod shook (at most 25), 15 for lost focus, up to 12 for grain: our own weights, common practice, no source. Sun, Moon and the core (Sgr A*, Reid and Brunthaler 2004) by astronomy-engine; twilight after Patat and others 2006, A&amp;A 455, 385.</p>`;

const STYLE = `
:root{color-scheme:light dark;--ink:#1d1b18;--paper:#faf8f4;--faint:#6f6a60;--rule:#d8d2c6}
@media (prefers-color-scheme:dark){:root{--ink:#cfc6b8;--paper:#12100e;--faint:#8d8578;--rule:#37322b}}
@media print{:root{--ink:#000;--paper:#fff;--faint:#555;--rule:#bbb}article{break-inside:avoid}}
body{font:16px/1.5 Georgia,'Times New Roman',serif;color:var(--ink);background:var(--paper);max-width:62rem;margin:2rem auto;padding:0 1rem}
h1,h2,h3{font-weight:normal;line-height:1.2}h2{margin-top:2.5rem;border-top:1px solid var(--rule);padding-top:1rem}h3{margin:0;grid-column:1/-1}
article{display:grid;grid-template-columns:minmax(0,20rem) minmax(0,1fr);gap:.5rem 1.2rem;margin:1.6rem 0}
article img{width:100%;height:auto}article p,article ul{margin:.2rem 0}article ul{padding-left:1.2rem}
.file{color:var(--faint)}.score{font-size:1.3rem}
figure{margin:1.5rem 0}.picks{display:grid;grid-template-columns:repeat(auto-fill,minmax(15rem,1fr));gap:1rem}.picks figure{margin:0}.picks img{width:100%;height:auto}svg{width:100%;height:auto}figcaption{color:var(--faint);font-size:.9rem}
svg text{font:12px Georgia,serif;fill:var(--ink)}svg .title{font-size:13px}svg .tick{fill:var(--faint);text-anchor:end}svg .middle{text-anchor:middle}
svg .grid{stroke:var(--rule)}svg .wish{stroke:var(--faint);stroke-dasharray:1 3}svg .line{fill:none;stroke:var(--ink);stroke-width:1.6}svg .dot{fill:var(--ink)}svg .bracket{stroke:var(--ink);stroke-width:3}
@media (max-width:40rem){article{grid-template-columns:1fr}}
`;
