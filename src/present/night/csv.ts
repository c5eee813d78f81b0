import type { Night, NightFrame } from '../../model/night.js';

type Cell = string | number | null;

/** Columns of the table, each with its unit in its name. */
const COLUMNS: readonly (readonly [string, (frame: NightFrame) => Cell])[] = [
  ['file', ({ file }) => file],
  ['setup', ({ setup }) => setup],
  ['takenAt', ({ settings }) => settings.takenAt],
  ['iso', ({ settings }) => settings.iso],
  ['shutterSeconds', ({ settings }) => settings.shutterSeconds],
  ['aperture', ({ settings }) => settings.aperture],
  ['focalMm', ({ settings }) => settings.focalMm],
  ['skyStops', ({ regions }) => regions.sky.levelStops],
  ['paintedStops', ({ regions }) => regions.painted.levelStops],
  ['balanceStops', ({ balance }) => balance.stops],
  ['paintedClippedFraction', ({ regions }) => regions.painted.clipped.any],
  ['trailPx', ({ stars }) => stars.elongationPx],
  ['starCause', ({ stars }) => stars.cause],
  ['score', ({ grade }) => grade.score],
  ['rating', ({ grade }) => grade.rating],
  ['reasons', ({ grade }) => grade.reasons.map(({ says }) => says).join('; ')],
  ['sunAltitudeDeg', ({ sky }) => sky?.sunAltitudeDeg ?? null],
  ['moonAltitudeDeg', ({ sky }) => sky?.moonAltitudeDeg ?? null],
  ['coreAltitudeDeg', ({ sky }) => sky?.coreAltitudeDeg ?? null],
  ['cameraStopsSincePrevious', ({ sincePrevious }) => sincePrevious?.cameraStops ?? null],
  ['skyStopsSincePrevious', ({ sincePrevious }) => sincePrevious?.skyStops ?? null],
  ['paintRatioSincePrevious', ({ sincePrevious }) => sincePrevious?.paintRatio ?? null],
];

/** One line a frame (RFC 4180: CRLF, quotes doubled). */
export function nightAsCsv(night: Night): string {
  const lines = [COLUMNS.map(([name]) => name), ...night.frames.map((frame) => COLUMNS.map(([, cell]) => cell(frame)))];
  return lines.map((line) => `${line.map(quoted).join(',')}\r\n`).join('');
}

function quoted(cell: Cell): string {
  if (cell === null) return '';
  const text = String(cell);
  // A leading = + - @ would be worked out as a formula by spreadsheet programs; numbers are left alone.
  const safe = typeof cell === 'string' && /^[=+\-@]/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
