import { linearToSrgb } from '../../physics/encoding.js';
import { percent, round, type Colour, type Lesson } from '../lesson.js';
import { advice } from '../remedies.js';

/** Warm lamps under a neutral sky lie about two stops of red over blue apart; more is seen as two pictures (common practice, no source). */
const CLASH_STOPS = 2.8;

function warmth(colour: Colour): number | null {
  if (colour === null || colour[0] <= 0 || colour[2] <= 0) return null;
  return Math.log2(colour[0] / colour[2]);
}

export const colourClash: Lesson = {
  id: 'colour-clash',
  title: 'Lamp and sky differ in colour',
  law: 'warmth = log2(red / blue); clash = warmth of paint - warmth of sky',
  region: 'painted',
  sees: 'The painted ground is {clashStops} stops warmer than the sky (red over blue): it looks like another picture.',
  because:
    'One white balance serves both. A lamp of candle or tungsten colour under a sky that is neutral or blue cannot be brought together later without turning the sky.',
  arithmetic: '{clashStops} = {paintStops} - ({skyStops})',
  check:
    'Set the camera to daylight, not to automatic white balance, and compare a white paper in the lamp with the sky.',
  source: 'mired arithmetic, 10^6 / T; gels as their makers state them',
  limits: 'A clipped red channel makes the lamp look less warm than it is. Warm light can be what you want.',
  find: ({ colours }) => {
    const [paint, sky] = [warmth(colours.painted), warmth(colours.sky)];
    if (paint === null || sky === null || Math.abs(paint - sky) < CLASH_STOPS) return null;
    const [paintStops, skyStops] = [round(paint, 1), round(sky, 1)];
    const clash = round(paintStops - skyStops, 1);
    return {
      gravity: Math.min(10, 3 + 4 * (Math.abs(paint - sky) - CLASH_STOPS)),
      overStops: null,
      numbers: { clashStops: clash, paintStops, skyStops },
      ...(clash < 0 && {
        sees: 'The painted ground is colder than the sky ({clashStops} stops of red over blue): it looks like another picture.',
        because:
          'One white balance serves both. A blue lamp under a sky warmed by towns cannot be brought together later.',
      }),
      remedies: [
        advice(
          clash > 0 ? 'a blue gel over the lamp (half or full)' : 'an orange gel over the lamp',
          'a stop or two of its light: count as much longer',
        ),
        advice('another lamp, nearer to the colour of the sky', 'nothing'),
      ],
    };
  },
};

/** The sky this far under its target lies in the left of any histogram. */
const DARK_STOPS = -0.75;
const RECOVERABLE = 0.5;

export const previewMisleads: Lesson = {
  id: 'preview-misleads',
  title: 'The screen misleads',
  law: 'percent of the scale = 100 x code / most',
  region: 'sky',
  sees: 'The sky lies at {code} of {most} by the standard curve of a JPEG, though the screen looked bright: at night the eye is open, and the screen is the brightest thing around.',
  because:
    'The screen shows a JPEG with its own curve, in the dark. Only numbers tell: a sky {skyStops} stops from clipping is stored at {codePercent} % of the scale by the standard curve.',
  arithmetic: '{codePercent} = 100 x {code} / {most}',
  check: 'Turn the screen to its lowest brightness, and go by the histogram, colour by colour.',
  source: 'IEC 61966-2-1 for the code; FAA AIM 8-1-6 for the dark-adapted eye',
  limits: 'The code is that of the standard curve; your camera bends it its own way.',
  find: ({ reading }) => {
    const level = reading.regions.sky.levelStops;
    const { pair, balance } = reading;
    const misled = pair !== undefined && pair.clippedFraction > 0.01 && (pair.recoverable ?? 0) > RECOVERABLE;
    if (level === null) return null;
    const isDark = level - balance.skyShownTargetStops < DARK_STOPS;
    if (!isDark && !misled) return null;
    const code = Math.round(255 * linearToSrgb(2 ** level));
    const numbers = {
      code,
      most: 255,
      codePercent: Number(((100 * code) / 255).toFixed(1)),
      skyStops: round(level, 1),
      ...(misled && {
        jpegPercent: percent(pair.clippedFraction),
        heldPercent: percent(pair.recoverable!),
      }),
    };
    return {
      gravity: misled ? 7 : 4,
      overStops: null,
      numbers,
      ...(misled && {
        sees: 'The JPEG that the screen shows has {jpegPercent} % of the frame clipped; the raw file still holds {heldPercent} % of that.',
      }),
      remedies: [
        advice('judge by the histogram of each colour', 'nothing'),
        advice('a flat picture style for the preview', 'a dull screen'),
      ],
    };
  },
};
