import type { Settings } from '../../model/frame.js';
import type { StarCause, TrailLimit } from '../../model/reading.js';
import { fiveHundredSeconds, npfSeconds, rectilinearStretch, trailPx } from '../../physics/trailing.js';

/** NPF factor of the default limit: between points (1) and slightly drawn out (3). */
const NPF_K = 2;

/** Half of the stars of a frame lie beyond this part of the half diagonal. */
const TYPICAL_RADIUS = 0.6;

export interface MeasuredTrail {
  readonly cause: StarCause;
  readonly elongationPx: number | null;
}

/** The trail this lens and pixel forgive, and the shutter that keeps to it. */
export function trailLimit(settings: Settings, override: number | null, measured: MeasuredTrail): TrailLimit {
  const { aperture, focalMm, pixelPitchUm, shutterSeconds } = settings;
  const lens = focalMm !== null && pixelPitchUm !== null ? { focalMm, pixelPitchUm } : null;
  const npf = lens === null || aperture === null ? null : npfSeconds(aperture, lens.focalMm, lens.pixelPitchUm);
  const allowed =
    override ?? (npf === null || lens === null ? null : trailPx(npf * NPF_K, lens.focalMm, lens.pixelPitchUm));
  return {
    trailPxAllowed: round(allowed, 2),
    shutterSecondsAllowed: round(shutterFor(allowed, lens, shutterSeconds, measured, settings), 1),
    rule: override === null ? `npf k=${String(NPF_K)}` : 'own limit',
    others: { npf: round(npf, 1), fiveHundred: focalMm === null ? null : round(fiveHundredSeconds(focalMm), 1) },
  };
}

function shutterFor(
  allowed: number | null,
  lens: { focalMm: number; pixelPitchUm: number } | null,
  shutterSeconds: number | null,
  measured: MeasuredTrail,
  settings: Settings,
): number | null {
  if (allowed === null) return null;
  // What was measured holds for this sky; a trail grows in proportion to the shutter.
  if (
    measured.cause === 'trailing' &&
    shutterSeconds !== null &&
    measured.elongationPx !== null &&
    measured.elongationPx > 1
  )
    return (shutterSeconds * allowed) / measured.elongationPx;
  if (lens === null) return null;
  return allowed / (trailPx(1, lens.focalMm, lens.pixelPitchUm) * typicalStretch(settings, lens, TYPICAL_RADIUS));
}

/** Mean of the radial and the tangential stretch at a part of the half diagonal. */
export function typicalStretch(
  size: { widthPx: number; heightPx: number },
  lens: { focalMm: number; pixelPitchUm: number },
  part: number,
): number {
  const radiusMm = (part * Math.hypot(size.widthPx, size.heightPx) * lens.pixelPitchUm) / 2000;
  const stretch = rectilinearStretch(radiusMm, lens.focalMm);
  return (stretch.radial + stretch.tangential) / 2;
}

function round(value: number | null, digits: number): number | null {
  return value === null || !Number.isFinite(value) ? null : Number(value.toFixed(digits));
}
