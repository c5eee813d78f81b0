import { plateScaleArcsecPerPx, SIDEREAL_RATE_ARCSEC_PER_S } from '../../physics/trailing.js';
import { round, type Case, type Lesson } from '../lesson.js';
import { advice, isoTimes, shutterTimes } from '../remedies.js';

function elongation({ reading }: Case): { size: number; allowed: number } | null {
  const { elongationPx, limit } = reading.stars;
  if (elongationPx === null) return null;
  return { size: elongationPx, allowed: limit.trailPxAllowed ?? 2.5 };
}

function timesTooLong({ size, allowed }: { size: number; allowed: number }): {
  trailPx: number;
  allowedPx: number;
  times: number;
} {
  const [trailPx, allowedPx] = [round(size, 1), round(allowed, 1)];
  return { trailPx, allowedPx, times: round(trailPx / allowedPx) };
}

export const starsTrailed: Lesson = {
  id: 'stars-trailed',
  title: 'The stars are trailed',
  law: 'pixels = sidereal rate x shutter / (206.265 x pitch / focal length)',
  region: 'stars',
  sees: 'Stars are strokes of {trailPx} pixels, along arcs about the pole; {allowedPx} are allowed here.',
  because:
    'The sky turns {rateArcsec} arcseconds in a second of time; a pixel of this lens holds {scaleArcsec}. In {shutterSeconds} s a star near the celestial equator crosses {onAxisPx} pixels in the middle of the frame, more towards the corners of a wide lens, less near the pole.',
  arithmetic: '{onAxisPx} = {rateArcsec} x {shutterSeconds} / {scaleArcsec}',
  check:
    'Zoom into a corner and the middle: trails lie along arcs and differ in length; a shaken frame has one stroke everywhere.',
  source:
    'sidereal rate 15.041 arcseconds a second; plate scale 206.265 p / f; NPF rule (F. Michaud) for what is allowed',
  limits: 'The rule of five hundred allows much longer trails on fine pixels.',
  find: (of) => {
    const size = elongation(of);
    const { cause } = of.reading.stars;
    const { shutterSeconds, focalMm, pixelPitchUm } = of.reading.settings;
    if (size === null || (cause !== 'trailing' && cause !== 'mixed') || size.size <= 1.1 * size.allowed) return null;
    const base = {
      gravity: Math.min(40, 10 + 14 * Math.log2(size.size / size.allowed)),
      overStops: round(Math.log2(size.size / size.allowed)),
      remedies: [
        ...shutterTimes(of, size.allowed / size.size),
        ...(shutterSeconds === null
          ? [advice('a shorter shutter', 'less light of sky and stand lamps: ISO brings both back')]
          : isoTimes(of, 2)),
        advice('a shorter focal length, or the same framing nearer to the pole', 'another picture'),
      ],
    };
    const { trailPx, allowedPx, times } = timesTooLong(size);
    if (shutterSeconds === null || focalMm === null || pixelPitchUm === null)
      return {
        ...base,
        numbers: { trailPx, allowedPx, times },
        because:
          'The sky turns while the shutter is open. Lens or sensor are not told by the file, so that the length cannot be foretold: it is {times} times what is usual to allow.',
        arithmetic: '{times} = {trailPx} / {allowedPx}',
      };
    const rateArcsec = round(SIDEREAL_RATE_ARCSEC_PER_S, 2);
    const scaleArcsec = round(plateScaleArcsecPerPx(pixelPitchUm, focalMm), 1);
    return {
      ...base,
      numbers: {
        trailPx,
        allowedPx,
        rateArcsec,
        scaleArcsec,
        shutterSeconds,
        onAxisPx: round((rateArcsec * shutterSeconds) / scaleArcsec, 1),
      },
    };
  },
};

export const starsShaken: Lesson = {
  id: 'stars-shaken',
  title: 'The camera moved',
  law: 'times too long = stroke / allowed',
  region: 'stars',
  sees: 'Every star has the same stroke of {trailPx} pixels, in one direction all over the frame.',
  because:
    "The sky's turning gives arcs that differ over the frame; one stroke everywhere is the camera: wind, a strap, a step on soft ground, a finger on the release. It is {times} times what is allowed.",
  arithmetic: '{times} = {trailPx} / {allowedPx}',
  check: 'Take a frame of a few seconds untouched: if the stroke is as long, it is the tripod, not the Earth.',
  source: 'star shapes by second moments (SExtractor manual); common practice for causes',
  limits: 'A short shake in a long exposure leaves a faint tail only.',
  find: (of) => {
    const size = elongation(of);
    if (size === null || of.reading.stars.cause !== 'shake') return null;
    return {
      gravity: Math.min(40, 16 + 10 * Math.log2(Math.max(1, size.size / size.allowed))),
      overStops: null,
      numbers: timesTooLong(size),
      remedies: [
        advice('weight the tripod, take the strap off, centre column down', 'nothing'),
        advice('delay of two seconds or a remote; stabiliser off', 'nothing'),
        advice('stand still while the shutter is open, on firm ground', 'nothing'),
      ],
    };
  },
};

export const starsDefocused: Lesson = {
  id: 'stars-defocused',
  title: 'The stars are out of focus',
  law: 'times the area = (width / focused width) ^ 2',
  region: 'stars',
  sees: 'Stars are discs of {fwhmPx} pixels; a focused wide lens gives {sharpPx} and less.',
  because:
    'The lens is not at infinity: each star is spread over {areaTimes} times the pixels, its light over as many, and the faint ones are gone.',
  arithmetic: '{areaTimes} = ({fwhmPx} / {sharpPx}) ^ 2',
  check:
    'Magnified live view on the brightest star: turn until it is smallest. Tape the ring; do it again when the air has cooled.',
  source: 'common practice, no source, for the width of a focused star',
  limits: 'Thin cloud and dew make discs as well: look at the front of the lens.',
  find: (of) => {
    const { cause, fwhmPx } = of.reading.stars;
    if (cause !== 'defocus' || fwhmPx === null) return null;
    const width = round(fwhmPx, 1);
    return {
      gravity: Math.min(40, 20 + 3 * fwhmPx),
      overStops: null,
      numbers: { fwhmPx: width, sharpPx: SHARP_PX, areaTimes: round((width / SHARP_PX) ** 2, 1) },
      remedies: [
        advice('focus anew on a bright star, magnified', 'a minute'),
        advice('wipe dew off; a band heater', 'a minute'),
      ],
    };
  },
};

/** A focused wide lens (common practice, no source). */
const SHARP_PX = 4;

export const starsComa: Lesson = {
  id: 'stars-coma',
  title: 'The corners are drawn out by the lens',
  law: 'times too long = stroke / allowed; third-order coma goes with radius x opening ^ 2',
  region: 'stars',
  sees: 'Stars are round in the middle and drawn outwards towards the corners, {trailPx} pixels in the middle of all.',
  because:
    'A wide lens wide open does not bring the rays of its rim to one point (coma). It grows with the square of the radius, and shrinks when the lens is stopped down. It is {times} times what is allowed.',
  arithmetic: '{times} = {trailPx} / {allowedPx}',
  check: 'The strokes point to the middle of the frame, not along arcs.',
  source: 'third-order aberrations: coma goes with the field and the square of the opening; from memory',
  limits: 'Fast lenses show astigmatism too, which looks like small wings.',
  find: (of) => {
    const size = elongation(of);
    if (size === null || of.reading.stars.cause !== 'coma') return null;
    return {
      gravity: Math.min(26, 12 + 6 * Math.log2(Math.max(1, size.size / size.allowed))),
      overStops: null,
      numbers: timesTooLong(size),
      remedies: [
        advice('stop down by a stop', 'half the light of sky and lamps: ISO up a stop brings both back'),
        advice('keep bright stars out of the corners, or crop', 'another picture'),
      ],
    };
  },
};
