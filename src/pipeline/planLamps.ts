import type { PlanLamp } from '../model/plan.js';
import { candelaOfBeamDistance, candelaOfLumens, COS_INCIDENCE, paintSecondsFor } from '../physics/torch.js';

/** A lamp as its box tells it, or as frames have shown it, and how it is to be used. */
export interface BoxedLamp {
  readonly name: string;
  readonly kind: 'held' | 'stand';
  readonly light:
    { readonly lumens: number; readonly fullAngleDeg: number } | { readonly beamDistanceM: number } | LearnedLight;
  readonly distanceM: number;
  readonly power: number;
}

/**
 * One standard deviation, stops: reflectance (references: 0.1 to 0.4 for ground), the expected sky, and how the beam spreads: a cone's
 * lumens are known to half a stop, an FL 1 beam distance is of the hot spot only, a stop and more over what paints.
 */
const REFLECTANCE_STOPS = 0.7;
const SKY_STOPS = 0.4;
const CONE_STOPS = 0.6;
const BEAM_STOPS = 1.2;
/** What a lamp gave on one ground it gives on another but for this (a guess between the spread of all ground and none). */
const OTHER_GROUND_STOPS = 0.5;

/** Counts that hands hold to. */
const SHORTEST_COUNT = 1.5;
const LONGEST_PART = 0.8;

/** From frames lit by it: candela at full power, on ground and walls taken to be as usual. */
export interface LearnedLight {
  readonly candela: number;
  /** One standard deviation. */
  readonly spreadStops: number;
}

interface Scene {
  readonly skyCdM2: number;
  readonly shutterSeconds: number;
  readonly balanceStops: number;
  readonly reflectance: number;
}

/** Paint time for each held lamp, power for each stand lamp, that put painted ground at its balance with the expected sky. */
export function planLamps(lamps: readonly BoxedLamp[], scene: Scene): PlanLamp[] {
  return lamps.map((lamp) => {
    const { name, kind, light, distanceM, power } = lamp;
    const { intensityCd, spread } = strengthOf(light);
    const uncertaintyStops = Number(Math.hypot(SKY_STOPS, spread).toFixed(1));
    const seconds = paintSecondsFor(scene.balanceStops, {
      reflectance: scene.reflectance,
      intensityCd: intensityCd * power,
      cosIncidence: COS_INCIDENCE,
      distanceM,
      skyCdM2: scene.skyCdM2,
      shutterSeconds: scene.shutterSeconds,
    });
    const powerWanted = (power * seconds) / scene.shutterSeconds;
    return {
      name,
      kind,
      intensityCd: Number(intensityCd.toPrecision(4)),
      distanceM,
      power,
      seconds: kind === 'held' ? Number(seconds.toPrecision(3)) : null,
      powerWanted: kind === 'stand' ? Number(powerWanted.toPrecision(3)) : null,
      uncertaintyStops,
      says:
        kind === 'held'
          ? heldInWords(lamp, seconds, scene, uncertaintyStops)
          : standInWords(lamp, powerWanted, uncertaintyStops),
    };
  });
}

function strengthOf(light: BoxedLamp['light']): { intensityCd: number; spread: number } {
  if ('beamDistanceM' in light)
    return {
      intensityCd: candelaOfBeamDistance(light.beamDistanceM),
      spread: Math.hypot(REFLECTANCE_STOPS, BEAM_STOPS),
    };
  if ('candela' in light)
    return { intensityCd: light.candela, spread: Math.hypot(OTHER_GROUND_STOPS, light.spreadStops) };
  return {
    intensityCd: candelaOfLumens(light.lumens, light.fullAngleDeg),
    spread: Math.hypot(REFLECTANCE_STOPS, CONE_STOPS),
  };
}

function heldInWords(
  { name, distanceM }: BoxedLamp,
  seconds: number,
  { shutterSeconds }: Scene,
  stops: number,
): string {
  const range = `between ${figure(seconds / 2 ** stops)} and ${figure(seconds * 2 ** stops)} s, two times in three`;
  if (seconds < SHORTEST_COUNT) {
    const dimmer = (SHORTEST_COUNT * 2) / seconds;
    return `${name} at ${figure(distanceM)} m would need ${figure(seconds)} s (${range}): too short to count. Dim it ${figure(Math.log2(dimmer))} stops (diffuser, low setting, bounce)${farther(distanceM * Math.sqrt(dimmer))}, and count 3 s.`;
  }
  if (seconds > LONGEST_PART * shutterSeconds)
    return `${name} at ${figure(distanceM)} m would need ${figure(seconds)} s (${range}): longer than the shutter leaves. Come to ${figure(distanceM * Math.sqrt((0.4 * shutterSeconds) / seconds))} m, or take a stronger lamp.`;
  return `${name} at ${figure(distanceM)} m: count ${figure(seconds)} s (${range}).`;
}

function standInWords({ name, distanceM, power }: BoxedLamp, wanted: number, stops: number): string {
  const sure = `uncertain by ${figure(stops)} ${stops === 1 ? 'stop' : 'stops'}`;
  if (wanted > 1)
    return `${name} at ${figure(distanceM)} m is too weak: it would need ${figure(wanted)} x full power (${sure}). Put it at ${figure(distanceM / Math.sqrt(wanted))} m.`;
  const metres = distanceM * Math.sqrt(power / wanted);
  const away = metres > FARTHEST_M ? 'dimmed or covered' : `or ${figure(metres)} m off as it is`;
  return wanted < 0.02
    ? `${name} at ${figure(distanceM)} m needs ${figure(wanted * 100)} % of full power, less than lamps have: cover it, ${away} (${sure}).`
    : `${name} at ${figure(distanceM)} m: ${figure(wanted * 100)} % of full power, ${away} (${sure}).`;
}

/** Nobody is sent farther into the dark than a torch shows ground (common practice, no source). */
const FARTHEST_M = 40;

function farther(metres: number): string {
  return metres > FARTHEST_M ? '' : ` or stand ${figure(metres)} m off`;
}

function figure(value: number): string {
  return String(Number(value.toPrecision(2)));
}
