import type { FaultId, Grade, Loss } from '../model/night.js';
import { isDamaged, type Reading } from '../model/reading.js';

/** Points a stop beyond the tolerance costs, and the most it can cost. docs/grading.md has the table in words. */
const PRICE = {
  sky: { each: 18, most: 45 },
  balance: { each: 20, most: 45 },
  /** A doubling of clipped paint beyond what is allowed. */
  clipped: { each: 6, most: 35 },
  trail: { each: 12, most: 25 },
  soft: 15,
  noise: { each: 5, most: 12 },
} as const;

const CLIPPED_ALLOWED = 0.005;

/** Sky with less signal over noise in one pixel than this shows grain (common practice, no source). */
const CALM_SNR = 3;

/** A score from 100 down, each loss with its reason; rating 5 from 85, 4 from 70, 3 from 50, 2 from 30. */
export function gradeOf(reading: Reading): Grade {
  const reasons = lossesOf(reading).filter(({ points }) => points >= 0.5);
  reasons.sort((a, b) => b.points - a.points);
  const lost = reasons.reduce((sum, { points }) => sum + points, 0);
  const score = Math.max(0, Math.min(lost > 0 ? 99 : 100, Math.round(100 - lost)));
  const rating = score >= 85 ? 5 : score >= 70 ? 4 : score >= 50 ? 3 : score >= 30 ? 2 : 1;
  return { score, rating, reasons };
}

function lossesOf(reading: Reading): Loss[] {
  const { regions, balance, stars } = reading;
  const sky = regions.sky.levelStops;
  if (isDamaged(reading)) return [{ points: 80, fault: 'unreadable', says: 'part of the picture is damaged' }];
  if (reading.advice.verdict === 'unreadable' || sky === null)
    return [{ points: 80, fault: 'unreadable', says: 'no sky could be measured' }];
  const losses: Loss[] = [
    missed(sky - balance.skyShownTargetStops, balance.toleranceStops, PRICE.sky, ['sky-low', 'sky-high'], 'the sky'),
  ];
  if (balance.stops === null)
    losses.push({ points: PRICE.balance.most, fault: 'paint-low', says: 'no painted ground was found' });
  else
    losses.push(
      missed(
        balance.stops - balance.targetStops,
        balance.toleranceStops,
        PRICE.balance,
        ['paint-low', 'paint-high'],
        'the painted ground, against the sky,',
      ),
    );
  const clipped = regions.painted.clipped.any;
  if (clipped > CLIPPED_ALLOWED)
    losses.push({
      points: capped(PRICE.clipped.each * Math.log2(clipped / CLIPPED_ALLOWED), PRICE.clipped.most),
      fault: 'paint-clipped',
      says: `${(clipped * 100).toFixed(1)} % of the painted ground is clipped`,
    });
  losses.push(...starLosses(stars));
  const snr = regions.sky.signalToNoise;
  if (snr !== null && snr < CALM_SNR)
    losses.push({
      points: capped(PRICE.noise.each * Math.log2(CALM_SNR / Math.max(0.1, snr)), PRICE.noise.most),
      fault: 'noise-high',
      says: `the sky is grainy (signal ${snr.toFixed(1)} times the noise)`,
    });
  return losses;
}

function starLosses(stars: Reading['stars']): Loss[] {
  const { cause, elongationPx, limit } = stars;
  if (cause === 'defocus') return [{ points: PRICE.soft, fault: 'stars-soft', says: 'the stars are out of focus' }];
  const allowed = limit.trailPxAllowed;
  // Elongation of round or mixed stars is as much sampling as blur: no point is lost for what may not be there.
  if (cause !== 'trailing' && cause !== 'shake') return [];
  if (elongationPx === null || allowed === null || elongationPx <= allowed * 1.1) return [];
  const says =
    cause === 'shake'
      ? `the tripod shook: stars ${elongationPx.toFixed(1)} px long`
      : `stars ${elongationPx.toFixed(1)} px long, ${allowed.toFixed(1)} px allowed`;
  const points = capped(PRICE.trail.each * Math.log2(elongationPx / allowed) + 3, PRICE.trail.most);
  return [{ points, fault: 'stars-trailed', says }];
}

function missed(
  miss: number,
  tolerance: number,
  price: { readonly each: number; readonly most: number },
  [low, high]: readonly [FaultId, FaultId],
  what: string,
): Loss {
  const beyond = Math.max(0, Math.abs(miss) - tolerance);
  // Inside the tolerance a small slope remains, so that of two good frames the nearer one comes first.
  const points = capped(price.each * beyond + 4 * Math.min(Math.abs(miss), tolerance), price.most);
  return {
    points,
    fault: miss < 0 ? low : high,
    says: `${what} is ${Math.abs(miss).toFixed(1)} stops too ${miss < 0 ? 'dark' : 'bright'}${beyond === 0 ? ' (inside the tolerance)' : ''}`,
  };
}

function capped(points: number, most: number): number {
  return Number(Math.max(0, Math.min(most, points)).toFixed(1));
}
