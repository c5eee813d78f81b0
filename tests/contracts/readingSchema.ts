import { z } from 'zod';
import { LESSON_IDS } from '../../src/model/lesson.js';

/** The shape of `paintstop frame --json`, strict about what the published contract names and open to additions. */
const fraction = z.number().min(0).max(1);
const stops = z.number().min(-40).max(10);
const levels = z.object({
  areaFraction: fraction,
  levelStops: stops.nullable(),
  percentilesStops: z.object({
    '1': stops.nullable(),
    '50': stops.nullable(),
    '95': stops.nullable(),
    '99': stops.nullable(),
    '99.9': stops.nullable(),
  }),
  clipped: z.object({ any: fraction, red: fraction, green: fraction, blue: fraction }),
  crushedFraction: fraction,
});
/** x, y, width, height. */
const box = z.tuple([z.int().min(0), z.int().min(0), z.int().positive(), z.int().positive()]);
const change = z.object({
  what: z.enum(['iso', 'shutter', 'aperture', 'paintTime', 'lampPower', 'lampDistance']),
  light: z.string().optional(),
  from: z.number().nullable(),
  to: z.number().nullable(),
  factor: z.number().positive(),
});

const predicted = z.object({
  skyStops: stops.nullable(),
  paintedStops: stops.nullable(),
  balanceStops: stops.nullable(),
  paintedClippedFraction: fraction.nullable(),
  trailPx: z.number().min(0).nullable(),
});

export const readingSchema = z.object({
  schema: z.literal('paintstop.frame/1'),
  file: z.string(),
  settings: z.object({
    iso: z.number().positive().nullable(),
    shutterSeconds: z.number().positive().nullable(),
    aperture: z.number().positive().nullable(),
    focalMm: z.number().positive().nullable(),
    pixelPitchUm: z.number().positive().nullable(),
    widthPx: z.int().positive(),
    heightPx: z.int().positive(),
    takenAt: z.string().nullable(),
    camera: z.string().nullable(),
    lens: z.string().nullable(),
    position: z.object({ latitudeDeg: z.number(), longitudeDeg: z.number() }).nullable(),
  }),
  encoding: z.object({
    container: z.enum(['jpeg', 'png', 'tiff', 'raw']),
    bitsPerChannel: z.int(),
    response: z.enum(['srgb', 'icc', 'linear', 'camera']),
    levelUncertaintyStops: z.number().positive(),
  }),
  segmentation: z.object({ by: z.enum(['learned', 'classical', 'hand']), confidence: fraction }),
  regions: z.object({ sky: levels, foreground: levels, painted: levels, unlit: levels }),
  clips: z.array(
    z.object({
      cause: z.enum(['painted-surface', 'source', 'star', 'moon', 'sky', 'horizon-glow']),
      areaPx: z.int().positive(),
      box,
      channels: z.array(z.enum(['red', 'green', 'blue'])).min(1),
      share: fraction,
    }),
  ),
  stars: z.object({
    count: z.int().min(0),
    fwhmPx: z.number().positive().nullable(),
    elongationPx: z.number().min(0).nullable(),
    axisRatio: z.number().min(1).nullable(),
    directionDeg: z.number().min(-90).lt(90).nullable(),
    limit: z.object({
      trailPxAllowed: z.number().positive().nullable(),
      shutterSecondsAllowed: z.number().positive().nullable(),
      rule: z.string(),
      others: z.object({ npf: z.number().positive().nullable(), fiveHundred: z.number().positive().nullable() }),
    }),
    predictedTrailPx: z.object({ median: z.number().min(0), worst: z.number().min(0) }).nullable(),
    overLimitFraction: fraction.nullable(),
    cause: z.enum(['round', 'trailing', 'shake', 'defocus', 'coma', 'mixed', 'too-few']),
  }),
  balance: z.object({
    stops: stops.nullable(),
    targetStops: z.number(),
    toleranceStops: z.number(),
    skyTargetStops: z.number(),
    skyShownTargetStops: z.number(),
  }),
  lights: z.array(
    z.object({
      name: z.string(),
      kind: z.enum(['held', 'stand']),
      seconds: z.number().nullable(),
      distanceM: z.number().nullable(),
      power: z.number().nullable(),
      powers: z.array(z.number().positive()).optional(),
    }),
  ),
  lampShares: z
    .array(
      z.object({
        lamps: z.array(z.string()).min(1),
        levelStops: stops,
        clipsAlone: fraction,
        areaFraction: fraction,
        hotSpot: z.object({ x: z.int().min(0), y: z.int().min(0) }),
      }),
    )
    .optional(),
  advice: z.object({
    verdict: z.enum(['balanced', 'adjust', 'unreadable']),
    summary: z.string().min(1),
    options: z.array(
      z.object({
        changes: z.array(change).min(1),
        predicted,
        walks: z.int().min(0),
        why: z.string().min(1),
      }),
    ),
    limit: z.enum(['lamp', 'sky', 'lens']).nullable(),
  }),
  warnings: z.array(z.object({ code: z.string(), message: z.string() })),
});

const degrees = z.number().min(-90).max(360);

/** Between two frames, stops. */
const changeStops = z.number().min(-40).max(40);

const sincePrevious = z
  .object({
    cameraStops: changeStops.nullable(),
    skyStops: changeStops.nullable(),
    paintRatio: z.number().positive().nullable(),
    paintRatioUncertaintyStops: z.number().positive().nullable(),
    says: z.string().min(1),
  })
  .nullable();

/** The shape of `paintstop night --json`. */
export const nightSchema = z.object({
  schema: z.literal('paintstop.night/1'),
  folder: z.string(),
  frames: z.array(
    readingSchema.extend({
      setup: z.int().positive(),
      grade: z.object({
        score: z.int().min(0).max(100),
        rating: z.int().min(1).max(5),
        reasons: z.array(z.object({ points: z.number().positive(), fault: z.string(), says: z.string().min(1) })),
      }),
      sky: z
        .object({
          sunAltitudeDeg: degrees,
          moonAltitudeDeg: degrees,
          moonLitFraction: fraction,
          coreAltitudeDeg: degrees,
          coreAzimuthDeg: degrees,
          says: z.string().min(1),
        })
        .nullable(),
      sincePrevious,
    }),
  ),
  setups: z.array(
    z.object({
      id: z.int().positive(),
      frames: z.array(z.string()).min(1),
      picks: z.array(z.string()).min(1),
      outlook: z
        .object({
          overSubjectAt: z.string().nullable(),
          leavesSkyAt: z.string().nullable(),
          darkEndsAt: z.string().nullable(),
          says: z.string().min(1),
        })
        .nullable(),
    }),
  ),
  failed: z.array(z.object({ file: z.string(), code: z.string(), message: z.string() })),
});

/** A line of `paintstop watch --json`. */
export const arrivalSchema = readingSchema.extend({
  arrivedAt: z.iso.datetime(),
  predicted: predicted.nullable(),
  sincePrevious,
});

const track = z
  .object({
    body: z.string(),
    track: z.array(
      z.object({
        at: z.string(),
        x: z.number().nullable(),
        y: z.number().nullable(),
        altitudeDeg: degrees.nullable(),
        azimuthDeg: degrees.nullable(),
        seen: z.enum(['sky', 'behind-ground', 'out-of-frame', 'below-horizon']),
      }),
    ),
    overSubjectAt: z.string().nullable(),
    overSubjectAltitudeDeg: degrees.nullable(),
    says: z.string().min(1),
  })
  .nullable();

/** The shape of `paintstop sky --json`. */
export const skySchema = z.object({
  schema: z.literal('paintstop.sky/1'),
  file: z.string(),
  solved: z.boolean(),
  why: z.string().nullable(),
  centre: z.object({ raDeg: z.number().min(0).max(360), decDeg: z.number().min(-90).max(90) }).nullable(),
  rollDeg: z.number().min(-180).max(180).nullable(),
  scaleArcsecPerPx: z.number().positive().nullable(),
  projection: z.enum(['rectilinear', 'equisolid', 'equidistant', 'stereographic']).nullable(),
  focalPx: z.number().positive().nullable(),
  distortion: z.tuple([z.number(), z.number()]).nullable(),
  residualPx: z.number().min(0).nullable(),
  matched: z.int().min(0).nullable(),
  confidence: fraction,
  aim: z.object({ azimuthDeg: degrees, altitudeDeg: degrees, tiltDeg: z.number().min(-180).max(180) }).nullable(),
  trail: z
    .object({
      predictedMedianPx: z.number().min(0),
      predictedWorstPx: z.number().min(0),
      measuredPx: z.number().min(0).nullable(),
      restPx: z.number().min(0).nullable(),
      says: z.string().min(1),
    })
    .nullable(),
  shutterMap: z
    .object({
      trailPxAllowed: z.number().positive(),
      columns: z.int().positive(),
      rows: z.int().positive(),
      seconds: z.array(z.number().positive().nullable()),
      shortestSeconds: z.number().positive(),
      medianSeconds: z.number().positive(),
      longestSeconds: z.number().positive(),
    })
    .nullable(),
  subject: z.object({ x: z.number(), y: z.number().nullable(), from: z.enum(['given', 'painted']) }).nullable(),
  core: track,
  other: track,
  clockOffsetMinutes: z.int().nullable(),
  clockSays: z.string().nullable(),
});

const moment = z.string().nullable();

/** The shape of `paintstop plan --json`. */
export const planSchema = z.object({
  schema: z.literal('paintstop.plan/1'),
  date: z.iso.date(),
  place: z.object({ latitudeDeg: z.number(), longitudeDeg: z.number() }),
  zone: z.string().nullable(),
  twilight: z.object({
    sunset: moment,
    civilDusk: moment,
    nauticalDusk: moment,
    astronomicalDusk: moment,
    astronomicalDawn: moment,
    nauticalDawn: moment,
    civilDawn: moment,
    sunrise: moment,
  }),
  lowestSunDeg: degrees,
  moon: z.object({ rise: moment, set: moment, litFraction: fraction, says: z.string().min(1) }),
  core: z.array(
    z.object({
      at: z.string(),
      sunAltitudeDeg: degrees,
      moonAltitudeDeg: degrees,
      altitudeDeg: degrees,
      azimuthDeg: degrees,
      skyMagnitude: z.number().nullable(),
    }),
  ),
  darkWindows: z.array(z.object({ from: z.string(), to: z.string() })),
  best: z.object({ at: z.string(), altitudeDeg: degrees, azimuthDeg: degrees }).nullable(),
  says: z.string().min(1),
  start: z
    .object({
      iso: z.number().positive(),
      aperture: z.number().positive(),
      shutterSeconds: z.number().positive(),
      skyStops: stops,
      uncertaintyStops: z.number().positive(),
      why: z.string().min(1),
    })
    .nullable(),
  lamps: z.array(
    z.object({
      name: z.string(),
      kind: z.enum(['held', 'stand']),
      intensityCd: z.number().positive(),
      distanceM: z.number().positive(),
      power: z.number().positive(),
      seconds: z.number().positive().nullable(),
      powerWanted: z.number().positive().nullable(),
      uncertaintyStops: z.number().positive(),
      says: z.string().min(1),
    }),
  ),
});

/** The shape of `paintstop why --json`. */
export const whySchema = z.object({
  schema: z.literal('paintstop.why/1'),
  file: z.string(),
  doubt: z.string().nullable(),
  lamps: z.string().nullable(),
  findings: z.array(
    z.object({
      id: z.enum(LESSON_IDS),
      region: z.enum(['sky', 'painted', 'unlit', 'source', 'stars']),
      box: box.nullable(),
      overStops: z.number().nullable(),
      gravity: z.number().min(0),
      numbers: z.record(z.string(), z.number()),
      text: z.string().min(1),
      title: z.string().min(1),
      sees: z.string().min(1),
      because: z.string().min(1),
      law: z.string().min(1),
      arithmetic: z.string().min(1),
      check: z.string().min(1),
      remedies: z
        .array(
          z.object({
            does: z.string().min(1),
            price: z.string().min(1),
            changes: z.array(change),
            gives: predicted.nullable(),
          }),
        )
        .min(1),
    }),
  ),
});

/** The shape of `paintstop what-if --json`. */
export const whatIfSchema = z.object({
  schema: z.literal('paintstop.what-if/1'),
  file: z.string(),
  changes: z.array(change).min(1),
  now: predicted,
  predicted,
  why: z.string().min(1),
});
