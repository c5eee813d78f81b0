import { brightStars } from '../calibration/brightStars.js';
import { seededRandom, type Random } from '../math/random.js';
import { fractalNoise } from '../math/texture.js';
import {
  equatorialToLocal,
  localToCamera,
  projectRectilinear,
  rotate,
  unitVector,
  unrotate,
} from '../physics/projection.js';
import { SIDEREAL_RATE_ARCSEC_PER_S } from '../physics/trailing.js';
import type { LightPlane, SceneSpec } from './spec.js';
import { cloudCover, cloudLight, widerSky } from './widerSky.js';

/** North galactic pole, J2000 (192.8595, +27.1283) and galactic centre (266.405, -28.936): IAU. */
const GALACTIC_POLE = unitVector(192.8595, 27.1283);
const GALACTIC_CENTRE = unitVector(266.405, -28.936);

/** Sky background at the first settings: level, Milky Way, glow, cloud, Moon. No stars. */
export function skyBackground(spec: SceneSpec): LightPlane {
  const { widthPx: width, heightPx: height } = spec;
  const focalPx = (spec.focalMm * 1000) / spec.pixelPitchUm;
  const toLocal = equatorialToLocal(spec.siderealDeg, spec.latitudeDeg);
  const toCamera = localToCamera(spec.azimuthDeg, spec.altitudeDeg);
  const light = new Float32Array(width * height * 3);
  const base = 2 ** spec.skyStops;
  const glowX = (seededRandom(spec.seed + 31).next() - 0.5) * 1.2;
  const moonAt = { x: width * 0.78, y: height * 0.16, radius: Math.max(4, (focalPx * 0.26 * Math.PI) / 180) };
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const ray = unrotate(toCamera, [(x - width / 2) / focalPx, (y - height / 2) / focalPx, 1]);
      const norm = Math.hypot(ray[0], ray[1], ray[2]);
      const altitude = ray[2] / norm;
      const equatorial = unrotate(toLocal, [ray[0] / norm, ray[1] / norm, altitude]);
      const band = milkyWay(equatorial, spec.seed) * spec.milkyWay;
      const aside = (x / width - 0.5 - glowX * 0.5) * 1.5;
      const glow = spec.glow * Math.exp(-Math.max(0, altitude) / 0.12) * Math.exp(-aside * aside);
      let cloud = 0;
      if (spec.cloud > 0)
        cloud =
          spec.cloud * Math.max(0, fractalNoise(x / (width * 0.18), y / (height * 0.09), spec.seed + 41, 5) + 0.1);
      let moon = 0;
      if (spec.moon) {
        const apart = Math.hypot(x - moonAt.x, y - moonAt.y) / moonAt.radius;
        moon = apart < 1 ? 400 : 6 / (1 + apart * apart * 0.12);
      }
      const fall = lensFalloff(x, y, spec);
      const horizon = 1 + 0.35 * Math.exp(-Math.max(0, altitude) / 0.3);
      const wide = widerSky(spec, x, y, altitude);
      const hidden = cloudCover(spec, x, y);
      const lit = hidden > 0 ? cloudLight(spec, x, y) : 1;
      for (let c = 0; c < 3; c++) {
        const open =
          spec.skyColour[c]! * (horizon + band * [1.1, 1, 0.85][c]!) +
          (glow + cloud * 0.7) * spec.glowColour[c]! +
          moon +
          wide[c]!;
        const own =
          spec.wider === undefined || hidden === 0
            ? open
            : open * (1 - hidden) +
              hidden * spec.wider.overcastColour[c]! * (spec.wider.overcastLight * lit + glow + 0.3 * wide[c]!);
        light[(y * width + x) * 3 + c] = base * own * fall;
      }
    }
  }
  return light;
}

/** Brightness of the Milky Way over the background: 1 to 2 stops at the core (references: 250 to 640 S10 over 220). */
function milkyWay(v: readonly [number, number, number], seed: number): number {
  const latitude = v[0] * GALACTIC_POLE[0] + v[1] * GALACTIC_POLE[1] + v[2] * GALACTIC_POLE[2];
  if (Math.abs(latitude) > 0.5) return 0;
  const towardsCentre = v[0] * GALACTIC_CENTRE[0] + v[1] * GALACTIC_CENTRE[1] + v[2] * GALACTIC_CENTRE[2];
  const bulge = 0.45 + 1.1 * Math.max(0, towardsCentre) ** 6;
  const wide = 0.09 + 0.06 * Math.max(0, towardsCentre) ** 4;
  const clumps = 1 + 0.5 * fractalNoise(v[0] * 9 + 7, v[1] * 9 + v[2] * 11, seed + 51, 4);
  const lane = fractalNoise(v[0] * 14, v[1] * 14 + v[2] * 17, seed + 52, 4);
  const dust = Math.exp(-((latitude / 0.04) ** 2)) * Math.max(0, 0.5 + lane);
  return bulge * Math.exp(-((latitude / wide) ** 2)) * clumps * (1 - 0.7 * Math.min(1, dust));
}

/** Smooth vignetting, `vignetteStops` in the corner. */
export function lensFalloff(x: number, y: number, spec: SceneSpec): number {
  const r2 =
    ((x - spec.widthPx / 2) ** 2 + (y - spec.heightPx / 2) ** 2) / ((spec.widthPx / 2) ** 2 + (spec.heightPx / 2) ** 2);
  return 2 ** (-spec.vignetteStops * r2);
}

export interface DrawnStar {
  readonly x: number;
  readonly y: number;
  readonly trailPx: number;
  readonly directionDeg: number;
}

/** Adds stars to `light`, trailed by the sky's own rotation during `shutterSeconds`; flux scales with the shutter. */
export function addStars(spec: SceneSpec, light: LightPlane, shutterSeconds: number): DrawnStar[] {
  const focalPx = (spec.focalMm * 1000) / spec.pixelPitchUm;
  const toCamera = localToCamera(spec.azimuthDeg, spec.altitudeDeg);
  const random = seededRandom(spec.seed + 61);
  const arcsecPerPx = 206265 / focalPx;
  const skyMagnitude = 21.3;
  const turn = (SIDEREAL_RATE_ARCSEC_PER_S * shutterSeconds) / 3600;
  const drawn: DrawnStar[] = [];
  const pathOf = (
    rightAscensionDeg: number,
    declinationDeg: number,
    steps: number,
  ): { x: number; y: number }[] | null => {
    const path: { x: number; y: number }[] = [];
    for (let step = 0; step <= steps; step++) {
      const toLocal = equatorialToLocal(spec.siderealDeg + turn * (step / steps - 0.5), spec.latitudeDeg);
      const at = projectRectilinear(
        rotate(toCamera, rotate(toLocal, unitVector(rightAscensionDeg, declinationDeg))),
        focalPx,
      );
      if (at === null) return null;
      path.push({ x: at.x + spec.widthPx / 2 - 0.5, y: at.y + spec.heightPx / 2 - 0.5 });
    }
    return path;
  };
  for (const star of starList(random)) {
    const ends = pathOf(star.rightAscensionDeg, star.declinationDeg, 1);
    if (ends === null) continue;
    const [start, end] = [ends[0]!, ends[1]!];
    const x = (start.x + end.x) / 2;
    const y = (start.y + end.y) / 2;
    if (x < -8 || y < -8 || x > spec.widthPx + 8 || y > spec.heightPx + 8) continue;
    const length = Math.hypot(end.x - start.x, end.y - start.y);
    const skyPerPixel = skyMagnitude - 5 * Math.log10(arcsecPerPx);
    const flux =
      2 ** spec.skyStops *
      10 ** (-0.4 * (star.magnitude - skyPerPixel)) *
      lensFalloff(x, y, spec) *
      (1 - cloudCover(spec, x, y));
    splatStar(spec, light, start, end, flux, star.colourIndex);
    if (star.magnitude < 6)
      drawn.push({
        x,
        y,
        trailPx: length,
        directionDeg: (Math.atan2(end.y - start.y, end.x - start.x) * 180) / Math.PI,
      });
  }
  return drawn;
}

/** The catalogue to magnitude 6, then random faint stars: twice and a half as many a magnitude, to 8.6. */
function starList(
  random: Random,
): { rightAscensionDeg: number; declinationDeg: number; magnitude: number; colourIndex: number }[] {
  const list = brightStars();
  const faint = 42000;
  for (let n = 0; n < faint; n++) {
    const depth = Math.log(1 + random.next() * (2.5 ** 2.6 - 1)) / Math.log(2.5);
    list.push({
      rightAscensionDeg: random.between(0, 360),
      declinationDeg: (Math.asin(random.between(-1, 1)) * 180) / Math.PI,
      magnitude: 6 + depth,
      colourIndex: random.between(-0.1, 1.4),
    });
  }
  return list;
}

function splatStar(
  spec: SceneSpec,
  light: LightPlane,
  start: { x: number; y: number },
  end: { x: number; y: number },
  flux: number,
  colourIndex: number,
): void {
  const { widthPx: width, heightPx: height } = spec;
  const middleX = (start.x + end.x) / 2;
  const middleY = (start.y + end.y) / 2;
  const fromCentre = Math.hypot(middleX - width / 2, middleY - height / 2);
  const comaLength = spec.comaPx * (fromCentre / Math.hypot(width / 2, height / 2)) ** 2;
  const outX = fromCentre > 0 ? (middleX - width / 2) / fromCentre : 0;
  const outY = fromCentre > 0 ? (middleY - height / 2) / fromCentre : 0;
  const shakeX = Math.cos((spec.shakeDeg * Math.PI) / 180) * spec.shakePx;
  const shakeY = Math.sin((spec.shakeDeg * Math.PI) / 180) * spec.shakePx;
  const length = Math.hypot(end.x - start.x, end.y - start.y);
  const sigma = spec.starFwhmPx / 2.3548;
  const taps: { x: number; y: number; w: number }[] = [];
  const trailTaps = Math.max(1, Math.min(40, Math.ceil(length * 1.5)));
  const shakeTaps = Math.max(1, Math.min(16, Math.ceil(spec.shakePx * 1.5)));
  const comaTaps = Math.max(1, Math.min(12, Math.ceil(comaLength * 1.5)));
  const disc = discTaps(spec.defocusPx);
  for (let t = 0; t < trailTaps; t++)
    for (let s = 0; s < shakeTaps; s++)
      for (let k = 0; k < comaTaps; k++)
        for (const d of disc) {
          const along = (t + 0.5) / trailTaps;
          const shake = (s + 0.5) / shakeTaps - 0.5;
          const out = ((k + 0.5) / comaTaps) * comaLength;
          taps.push({
            x: start.x + (end.x - start.x) * along + shakeX * shake + outX * out + d.x,
            y: start.y + (end.y - start.y) * along + shakeY * shake + outY * out + d.y,
            w: 1 / (trailTaps * shakeTaps * comaTaps * disc.length),
          });
        }
  const warm = Math.max(-0.3, Math.min(1.6, colourIndex));
  const colour = [0.85 + 0.25 * warm, 1, 1.25 - 0.4 * warm];
  const reach = Math.ceil(sigma * 4);
  for (const tap of taps) {
    const x0 = Math.round(tap.x);
    const y0 = Math.round(tap.y);
    for (let y = Math.max(0, y0 - reach); y <= Math.min(height - 1, y0 + reach); y++) {
      const gy = pixelShare(y - tap.y, sigma);
      for (let x = Math.max(0, x0 - reach); x <= Math.min(width - 1, x0 + reach); x++) {
        const add = flux * tap.w * gy * pixelShare(x - tap.x, sigma);
        const i = (y * width + x) * 3;
        light[i]! += add * colour[0]!;
        light[i + 1]! += add;
        light[i + 2]! += add * colour[2]!;
      }
    }
  }
}

/** Share of a unit Gaussian that falls on the pixel [offset - 0.5, offset + 0.5] (Simpson's rule). */
function pixelShare(offset: number, sigma: number): number {
  const at = (u: number): number => Math.exp((-u * u) / (2 * sigma * sigma));
  return (at(offset - 0.5) + 4 * at(offset) + at(offset + 0.5)) / (6 * sigma * Math.sqrt(2 * Math.PI));
}

function discTaps(diameterPx: number): { x: number; y: number }[] {
  if (diameterPx <= 0) return [{ x: 0, y: 0 }];
  const taps: { x: number; y: number }[] = [];
  const count = Math.max(12, Math.round(diameterPx * diameterPx));
  for (let n = 0; n < Math.min(90, count); n++) {
    const radius = (diameterPx / 2) * Math.sqrt((n + 0.5) / Math.min(90, count));
    const angle = n * 2.399963;
    taps.push({ x: radius * Math.cos(angle), y: radius * Math.sin(angle) });
  }
  return taps;
}
