import { printable } from '../../errors.js';
import type { BodyTrack, SkyReading } from '../../model/sky.js';
import { clockOf } from '../../physics/localTime.js';
import { WALK_CAUTION } from '../cautions.js';
import { labelled } from '../labelled.js';
import type { Look } from '../style.js';

/** Where the frame looks and when the core stands there, for a person. */
export function skyAsText(sky: SkyReading, width: number, look: Look): string {
  const { lines, headline, put } = labelled(width, look);
  const wrong = sky.aim !== null && (sky.aim.altitudeDeg < -30 || Math.abs(sky.aim.tiltDeg) > 20);
  if (wrong)
    headline(
      `Place, zone or clock cannot be right: with them the camera would look ${sky.aim.altitudeDeg.toFixed(0)}° up, leaning ${Math.abs(sky.aim.tiltDeg).toFixed(0)}°.`,
    );
  headline(sky.why ?? sky.core?.says ?? 'The frame has no time: what stands where, and when, cannot be told.');
  lines.push('');
  put('frame', printable(sky.file));
  if (sky.centre !== null) put('looks to', directionInWords(sky));
  if (sky.matched !== null)
    put(
      'stars',
      `${String(sky.matched)} stars of the catalogue found, ${sky.residualPx!.toFixed(1)} px off in the middle; ${sky.projection!} lens, ${sky.scaleArcsecPerPx!.toFixed(1)} arcseconds a pixel`,
    );
  if (sky.trail !== null) put('trails', sky.trail.says);
  if (sky.shutterMap !== null) {
    const { trailPxAllowed, shortestSeconds, medianSeconds, longestSeconds } = sky.shutterMap;
    put(
      'shutter',
      `for ${trailPxAllowed.toFixed(1)} px of trail: ${seconds(shortestSeconds)} where the sky moves fastest in this frame, ${seconds(medianSeconds)} for half of the sky, ${seconds(longestSeconds)} where it moves least`,
    );
  }
  if (sky.clockSays !== null) put('clock', sky.clockSays);
  if (sky.core !== null) putTrack(put, sky.core);
  if (sky.other !== null) {
    put(sky.other.body.slice(0, 8), sky.other.says);
    putTrack(put, sky.other);
  }
  if (sky.solved) put('safety', WALK_CAUTION);
  return `${lines.join('\n')}\n`;
}

function directionInWords({ aim, centre, rollDeg }: SkyReading): string {
  const sky = `right ascension ${centre!.raDeg.toFixed(2)}°, declination ${centre!.decDeg.toFixed(2)}° (J2000), north ${Math.abs(rollDeg!).toFixed(1)}° ${rollDeg! < 0 ? 'left' : 'right'} of up`;
  if (aim === null) return sky;
  const lean = Math.abs(aim.tiltDeg) < 0.3 ? 'level' : `leaning ${Math.abs(aim.tiltDeg).toFixed(1)}°`;
  return `azimuth ${aim.azimuthDeg.toFixed(0)}°, ${aim.altitudeDeg.toFixed(0)}° up, ${lean}; ${sky}`;
}

/** The track each half hour while it is in the sky of the frame. */
function putTrack(put: (label: string, text: string) => void, { track }: BodyTrack): void {
  const shown = track.filter(({ at, seen }) => seen === 'sky' && /:[03]0$/.test(clockOf(at)));
  shown.slice(0, 24).forEach(({ at, x, y, altitudeDeg }, n) => {
    const high = altitudeDeg === null ? '' : `, ${altitudeDeg.toFixed(0)}° high`;
    put(n === 0 ? 'path' : '', `${clockOf(at)}  at ${x!.toFixed(0)}, ${y!.toFixed(0)}${high}`);
  });
}

function seconds(value: number): string {
  return value >= 3600 ? 'an hour and more' : `${value < 10 ? value.toFixed(1) : value.toFixed(0)} s`;
}
