import { printable } from '../errors.js';
import { BLACK_SKY_STOPS, type Clip, type Option, type Reading } from '../model/reading.js';
import { leadsIntoTheDark, WALK_CAUTION } from './cautions.js';
import { labelled } from './labelled.js';
import type { Look } from './style.js';

/** A reading for a person: what to do next, then what was measured, then other ways. No line is longer than `width` where it can be helped. */
export function readingAsText(reading: Reading, width: number, look: Look): string {
  const { lines, headline, put } = labelled(width, look);
  const isDay = reading.warnings.some(({ code }) => code === 'not-night');
  headline(isDay ? `A night frame? If it is: ${reading.advice.summary}` : reading.advice.summary);
  lines.push('');
  for (const warning of reading.warnings) if (DOUBTS.has(warning.code)) put('doubt', warning.message);
  put('frame', `${printable(reading.file)}: ${settingsInWords(reading)}`);
  put('regions', regionsInWords(reading));
  put('sky', skyInWords(reading));
  put('paint', paintInWords(reading));
  put('clipped', clipsInWords(reading.clips, reading));
  if (reading.pair !== undefined) put('JPEG', pairInWords(reading.pair));
  put('stars', starsInWords(reading));
  const [best, ...others] = reading.advice.options;
  if (best !== undefined) {
    put('expect', forecastInWords(best, reading));
    put('why', best.why);
  }
  others.forEach((option, n) => {
    put(n === 0 ? 'or' : '', `${option.says} ${forecastInWords(option, reading)}`);
  });
  for (const warning of reading.warnings) if (!DOUBTS.has(warning.code)) put('note', warning.message);
  if (reading.advice.options.some((option) => leadsIntoTheDark(option))) put('safety', WALK_CAUTION);
  return `${lines.join('\n')}\n`;
}

/** Warnings that put the whole answer in doubt: they must not be read last. */
const DOUBTS = new Set(['uncertain-regions', 'not-night', 'too-small', 'no-sky', 'damaged-data']);

function settingsInWords({ settings, encoding }: Reading): string {
  const parts = [
    settings.iso === null ? 'ISO ?' : `ISO ${String(settings.iso)}`,
    settings.shutterSeconds === null ? '? s' : `${trim(settings.shutterSeconds)} s`,
    settings.aperture === null ? 'f/?' : `f/${trim(settings.aperture)}`,
    settings.focalMm === null ? '? mm' : `${trim(settings.focalMm)} mm`,
  ];
  const response = { srgb: 'sRGB curve', icc: 'ICC curve', linear: 'linear', camera: "the camera's curve" }[
    encoding.response
  ];
  return `${parts.join(', ')}; ${String(encoding.bitsPerChannel)}-bit ${encoding.container === 'raw' ? 'raw' : encoding.container.toUpperCase()}, ${response}, levels ±${trim(encoding.levelUncertaintyStops)} stop`;
}

const BY = { learned: 'by the network', classical: 'without the network', hand: 'as you drew them' } as const;

function regionsInWords({ segmentation }: Reading): string {
  const { by, confidence } = segmentation;
  return `sky and ground told apart ${BY[by]}${by === 'hand' ? '' : `, confidence ${confidence.toFixed(2)}`}`;
}

function pairInWords({ file, clippedFraction, recoverable, curveErrorStops }: NonNullable<Reading['pair']>): string {
  const clips =
    recoverable === null
      ? 'clips nothing'
      : `clips ${percent(clippedFraction)} of the frame; the raw file still holds ${percent(recoverable)} of that`;
  const curve = curveErrorStops === null ? '' : `; its curve is fitted to ±${trim(curveErrorStops)} stop`;
  return `${file} ${clips}${curve}`;
}

function skyInWords({ regions, balance }: Reading): string {
  const level = regions.sky.levelStops;
  if (level === null) return 'none found';
  if (balance.stops === null && level <= BLACK_SKY_STOPS) return 'black: nothing could be measured';
  const lifted = balance.skyShownTargetStops !== balance.skyTargetStops;
  const shown = lifted ? ` (shown as ${signed(balance.skyShownTargetStops)} here, by its stars)` : '';
  return `${signed(level)} stops from clipping, target ${signed(balance.skyTargetStops)}${shown}: ${missInWords(level - balance.skyShownTargetStops, balance.toleranceStops)}`;
}

function paintInWords({ regions, balance, falloff }: Reading): string {
  const level = regions.painted.levelStops;
  if (level === null) return 'no painted ground found';
  if (balance.stops === null) return `${signed(level)} stops; there is no sky to balance it with`;
  const uneven = falloff === null ? '' : `; ${trim(falloff.rangeStops)} stops from its dim to its bright parts`;
  return `${signed(level)} stops, ${trim(Math.abs(balance.stops))} ${balance.stops < 0 ? 'under' : 'over'} the sky, target ${signed(balance.targetStops)}: ${missInWords(balance.stops - balance.targetStops, balance.toleranceStops)}${uneven}`;
}

/** Levels are told to a hundredth. */
const ROUNDING_STOPS = 0.005;

function missInWords(miss: number, tolerance: number): string {
  if (Math.abs(miss) <= tolerance + ROUNDING_STOPS) return 'good';
  return `${trim(Math.abs(miss))} ${Math.abs(miss) > 1.05 ? 'stops' : 'stop'} too ${miss < 0 ? 'dark' : 'bright'}`;
}

/** Clipped parts of the frame smaller than this are not named. */
const WORTH_NAMING = 0.0005;

function clipsInWords(clips: readonly Clip[], { regions }: Reading): string {
  if (clips.length === 0) return 'nothing';
  const sums = new Map<string, { share: number; places: number }>();
  for (const clip of clips) {
    const sum = sums.get(clip.cause) ?? { share: 0, places: 0 };
    sums.set(clip.cause, { share: sum.share + clip.share, places: sum.places + 1 });
  }
  const causes = [...sums]
    .filter(([, { share }]) => share >= WORTH_NAMING)
    .map(
      ([cause, { share, places }]) =>
        `${cause.replace('-', ' ')} ${percent(share)} of the frame${places > 1 ? ` in ${String(places)} places` : ''}`,
    );
  const paint = regions.painted.clipped.any;
  if (causes.length === 0) return paint < WORTH_NAMING ? 'nothing that matters' : `${percent(paint)} of the paint`;
  const painted = regions.painted.levelStops === null ? '' : `${percent(paint)} of the paint. By cause: `;
  return `${painted}${causes.join(', ')}`;
}

function starsInWords({ stars }: Reading): string {
  const { limit } = stars;
  const parts = [stars.cause === 'too-few' ? 'too few sound ones to judge by' : `${String(stars.count)} found`];
  if (stars.elongationPx !== null && stars.fwhmPx !== null) {
    const allowed =
      limit.trailPxAllowed === null
        ? ''
        : ` (${trim(limit.trailPxAllowed)} allowed: ${limit.rule.startsWith('npf') ? `NPF rule, ${limit.rule.slice(4)}` : limit.rule})`;
    const within = limit.trailPxAllowed !== null && stars.elongationPx <= limit.trailPxAllowed;
    parts.push(
      `drawn out by ${trim(stars.elongationPx)} px${allowed}, ${trim(stars.fwhmPx)} px wide: ${causeInWords(stars.cause, within)}`,
    );
  }
  return [...parts, ...shutterLimits(stars)].join('; ');
}

/** The shutter that is allowed here, and what the rules of thumb would say, told apart. No shutter mends what is not the sky's turning. */
function shutterLimits({ cause, limit }: Reading['stars']): string[] {
  const {
    shutterSecondsAllowed,
    others: { npf, fiveHundred },
  } = limit;
  const rules = [
    ...(npf === null ? [] : [`NPF k=1 ${trim(npf)} s`]),
    ...(fiveHundred === null ? [] : [`500 rule ${trim(fiveHundred)} s`]),
  ].join(', ');
  if (shutterSecondsAllowed === null) return rules === '' ? [] : [`rules of thumb: ${rules}`];
  const turning = cause === 'round' || cause === 'trailing' || cause === 'too-few';
  const allowed = `${turning ? 'that allows' : "the sky's turning alone would allow"} a shutter of ${trim(shutterSecondsAllowed)} s`;
  return [rules === '' ? allowed : `${allowed} (rules of thumb: ${rules})`];
}

function causeInWords(cause: Reading['stars']['cause'], within: boolean): string {
  switch (cause) {
    case 'round':
      return 'round';
    case 'trailing':
      return within ? "the sky's turning, within the limit" : "trailing (the sky's turning)";
    case 'shake':
      return 'shaken (one direction everywhere): steady the tripod, let go of the camera';
    case 'defocus':
      return 'out of focus';
    case 'coma':
      return 'drawn outwards by the lens (coma)';
    case 'mixed':
      return 'several causes together';
    case 'too-few':
      return 'too few to say why';
  }
}

function forecastInWords(option: Option, { stars }: Reading): string {
  const { predicted } = option;
  const parts: string[] = [];
  if (predicted.skyStops !== null) parts.push(`sky ${signed(predicted.skyStops)}`);
  if (predicted.balanceStops !== null)
    parts.push(`paint ${trim(Math.abs(predicted.balanceStops))} ${predicted.balanceStops < 0 ? 'under' : 'over'} it`);
  if (predicted.paintedClippedFraction !== null)
    parts.push(`${percent(predicted.paintedClippedFraction)} of the paint clipped`);
  if (predicted.trailPx !== null) {
    const allowed = stars.limit.trailPxAllowed;
    const over = allowed !== null && predicted.trailPx > allowed * 1.03 ? `, over the ${trim(allowed)} allowed` : '';
    parts.push(`stars ${trim(predicted.trailPx)} px${over}`);
  }
  return `${parts.join(', ')}; ${walksInWords(option)}`;
}

function walksInWords(option: Option): string {
  const { walks } = option;
  if (walks === 0) return leadsIntoTheDark(option) ? 'a walk, where a lamp is brought nearer.' : 'no walk to a lamp.';
  return walks === 1 ? 'one walk to a lamp.' : `${String(walks)} walks to lamps.`;
}

function percent(fraction: number): string {
  const value = fraction * 100;
  return value > 0 && value < 0.01 ? 'under 0.01 %' : `${trim(value)} %`;
}

function signed(value: number): string {
  return `${value >= 0 ? '+' : '-'}${Math.abs(value).toFixed(1)}`;
}

function trim(value: number): string {
  return String(Number(value.toPrecision(Math.abs(value) >= 10 ? 3 : 2)));
}
