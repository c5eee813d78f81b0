// Writes what cameras' display curves have in common into src/calibration/data/displayCurves.ts: mean and covariance of a family of curves drawn
// here, as a Gaussian prior (the idea: M. D. Grossberg and S. K. Nayar, Modeling the space of camera response functions, IEEE PAMI 26, 2004,
// who took measured curves; ours are drawn from the forms that such curves have). Run after a build: node
// scripts/make-display-curves.mjs
import { writeFileSync } from 'node:fs';
import { inverse, Matrix } from 'ml-matrix';
import { seededRandom } from '../dist/math/random.js';
import { linearToSrgb, srgbToLinear } from '../dist/physics/encoding.js';

/** Stops from white by sRGB. */
const KNOTS = [-10, -9, -8, -7, -6, -5, -4, -3, -2.5, -2, -1.5, -1, -0.75, -0.5, -0.25, 0];
const CURVES = 4000;
/** What no curve of the family does exactly, stops. */
const UNLIKE = 0.03;

/** The same family each time. */
const { between: uniform, pick: one } = seededRandom(12345);
const held = (value) => Math.min(1, Math.max(0, value));

/** ITU-R BT.709. */
const video = (light) => (light < 0.018 ? 4.5 * light : 1.099 * light ** 0.45 - 0.099);

/** Brightening by a gain, rolled so that sensor white stays white: a hyperbola, an exponential over a knee, or a power. */
function shoulder() {
  const gain = 2 ** uniform(0, 1.2);
  const knee = uniform(0, 0.6);
  const rest = 1 - knee;
  return one([
    (light) => (light * gain) / (1 + (gain - 1) * light),
    (light) => {
      const lifted = light * gain;
      if (lifted <= knee) return lifted;
      return knee + (rest * (1 - Math.exp(-(lifted - knee) / rest))) / (1 - Math.exp(-(gain - knee) / rest));
    },
    (light) => light ** (1 / (1 + 0.35 * Math.log2(gain))),
  ]);
}

function contrast() {
  const part = uniform(-0.1, 0.4);
  const middle = uniform(0.35, 0.55);
  return one([
    (code) => code + part * (code * code * (3 - 2 * code) - code),
    (code) => code + part * (code - middle) * code * (1 - code) * 2.5,
  ]);
}

/** Code value (0 to 1) of light (0 to 1) by one camera: shoulder, toe, encoding, S of contrast, lifted black. */
function displayCurve() {
  const rolled = shoulder();
  const encoded = one([linearToSrgb, linearToSrgb, (light) => light ** (1 / 2.2), video]);
  const bent = contrast();
  const black = uniform(0, 1) < 0.3 ? uniform(0, 0.015) : 0;
  const toe = uniform(0, 1) < 0.4 ? uniform(0, 0.012) : 0;
  return (light) => {
    const shown = rolled(light);
    const deep = toe > 0 ? (shown * (shown + 0.15 * toe)) / (shown + toe) : shown;
    return black + (1 - black) * held(bent(encoded(held(deep))));
  };
}

/** Light over what sRGB reads, stops, at each knot. */
function overSrgb(curve) {
  const places = [];
  for (let light = -13; light <= 1e-9; light += 0.02)
    places.push({ light, read: Math.log2(Math.max(1e-6, srgbToLinear(curve(2 ** light)))) });
  return KNOTS.map((knot) => {
    const found = places.findIndex(({ read }) => read >= knot);
    const after = found === -1 ? places.length - 1 : Math.max(1, found);
    const [left, right] = [places[after - 1], places[after]];
    const part = Math.max(0, Math.min(1, (knot - left.read) / Math.max(1e-9, right.read - left.read)));
    return Math.max(-3, Math.min(3, left.light + part * (right.light - left.light) - knot));
  });
}

const family = Array.from({ length: CURVES }, () => overSrgb(displayCurve()));
const mean = KNOTS.map((_, i) => family.reduce((sum, curve) => sum + curve[i] / CURVES, 0));
const covariance = KNOTS.map((_, i) =>
  KNOTS.map(
    (_, j) =>
      family.reduce((sum, curve) => sum + ((curve[i] - mean[i]) * (curve[j] - mean[j])) / CURVES, 0) +
      (i === j ? UNLIKE ** 2 : 0),
  ),
);
const certainty = inverse(new Matrix(covariance)).to2DArray();

writeFileSync(
  'src/calibration/data/displayCurves.ts',
  `// Made by scripts/make-display-curves.mjs: a family of ${CURVES} display curves as cameras have them.

/** Stops from white by sRGB, at which the family is described. */
export const CURVE_KNOTS: readonly number[] = [${KNOTS.join(', ')}];

/** How far the light lies over what sRGB reads at each knot, stops: mean of the family. */
export const LIKELY_OVER: readonly number[] = [${mean.map((value) => Number(value.toFixed(3))).join(', ')}];

/** Inverse of the family's covariance there, 1 / stops^2, one row for each knot. */
export const CERTAINTY: readonly (readonly number[])[] = [
${certainty.map((row) => `  [${row.map((value) => Number(value.toFixed(1))).join(', ')}],`).join('\n')}
];
`,
);
