import { miscountStops } from '../calibration/hands.js';
import { dot, nonNegative } from '../math/leastSquares.js';
import { median } from '../math/statistics.js';
import type { Settings } from '../model/frame.js';
import type { LightMap } from '../model/lightMap.js';
import type { Light } from '../model/reading.js';
import { REGION } from '../model/regions.js';

/** One try of a setup: its light (lying over the others' already), the camera, and the lamps it was shot by. */
export interface TryOfSetup {
  readonly map: LightMap;
  readonly settings: Pick<Settings, 'iso' | 'shutterSeconds' | 'aperture'>;
  readonly lights: readonly Light[];
}

/** Light of one lamp, or of several that cannot be told apart, or of sky and surroundings, as the last try had it. */
export interface Layer {
  /** Empty for sky and ambient light. */
  readonly lamps: readonly string[];
  /** Sky and ambient light are in it, with lamps or without. */
  readonly holdsAmbient: boolean;
  readonly planes: LightMap['planes'];
}

export interface Separation {
  readonly layers: readonly Layer[];
  /** What cannot be told apart yet, and the one frame that would tell; null when every lamp stands alone. */
  readonly wouldTell: string | null;
}

/** Columns of the design whose part beyond the others is smaller than this cannot be told from them. */
const APART = 0.12;

/** How well the change of held light is seen, stops: where it is alone, and where a stand lamp may be mixed in. */
const SEEN_STOPS = 0.1;
const MIXED_STOPS = 0.6;

/** Relative and absolute error of a cell's light. */
const RELATIVE = 0.04;
const FLOOR = 2 ** -12;

/**
 * Tells the lamps apart from tries that differ in what the camera and the lamps did: in each cell, light is the sum over lamps of (exposure of
 * the lamp in the try) x (light of the lamp), with no lamp below zero. A clipped cell counts as "at least". Null when the settings or
 * counts are not known, or with less than two tries.
 */
export function separate(tries: readonly TryOfSetup[]): Separation | null {
  const first = tries[0];
  if (first === undefined || tries.length < 2) return null;
  const names = [...new Set(tries.flatMap(({ lights }) => lights.map(({ name }) => name)))];
  if (names.length === 0 || names.length > 5) return null;
  const exposures = tries.map((own) => exposuresOf(own, names));
  if (exposures.some((row) => row === null)) return null;
  const rows = exposures as number[][];
  const skyGains = skyGainsOf(tries, rows);
  const held = heldOnly(tries, names);
  const heldGains = held === null ? null : heldGainsOf(tries, rows, held);
  const scaled = rows.map((row, j) =>
    row.map((value, k) => value * (k === 0 ? skyGains[j]! : k - 1 === held ? heldGains![j]! : 1)),
  );
  const last = scaled.at(-1)!;
  // Each lamp in units of the last try's light, or of its strongest where it is off there.
  const units = last.map((value, k) => (value > 0 ? value : Math.max(...scaled.map((row) => row[k]!))));
  const design = scaled.map((row) => row.map((value, k) => (units[k]! > 0 ? value / units[k]! : 0)));
  const groups = groupsOf(design);
  const grouped = design.map((row) => groups.map((group) => group.reduce((sum, k) => sum + row[k]!, 0) / group.length));
  const layers = solveCells(tries, grouped).map((planes, g): Layer => {
    const isOff = groups[g]!.every((k) => last[k] === 0);
    if (isOff) planes.forEach((plane) => plane.fill(0));
    const lamps = groups[g]!.filter((k) => k > 0).map((k) => names[k - 1]!);
    return { lamps, holdsAmbient: groups[g]!.includes(0), planes };
  });
  return { layers, wouldTell: wouldTell(groups, names, tries) };
}

/** What multiplies each light in a try: sky and ambient first, then the lamps by name. Null where a figure is missing. */
function exposuresOf({ settings, lights }: TryOfSetup, names: readonly string[]): number[] | null {
  const { iso, shutterSeconds, aperture } = settings;
  if (iso === null || shutterSeconds === null || aperture === null) return null;
  const sensitivity = iso / aperture ** 2;
  const row = [sensitivity * shutterSeconds];
  for (const name of names) {
    const light = lights.find((own) => own.name === name);
    if (light === undefined || light.power === 0) row.push(0);
    else {
      const seconds = light.kind === 'held' ? light.seconds : shutterSeconds;
      if (seconds === null) return null;
      row.push((sensitivity * seconds * (light.power ?? 1)) / (light.distanceM ?? 1) ** 2);
    }
  }
  return row;
}

/** Lamps do not reach the sky: there the camera alone decides, and what is left is the sky's own change. */
function skyGainsOf(tries: readonly TryOfSetup[], rows: readonly number[][]): number[] {
  const [first] = tries;
  return tries.map(({ map }, j) => {
    const ratios: number[] = [];
    for (let i = 0; i < map.regions.length; i += 3) {
      if (map.regions[i] !== REGION.sky || first!.map.regions[i] !== REGION.sky) continue;
      if (map.burnt[i]! > 0 || first!.map.burnt[i]! > 0) continue;
      const before = first!.map.planes[1][i]!;
      if (before > FLOOR) ratios.push(map.planes[1][i]! / before);
    }
    return ratios.length < 50 ? 1 : median(ratios) / (rows[j]![0]! / rows[0]![0]!);
  });
}

/** The only held lamp; null where there is none or several. */
function heldOnly(tries: readonly TryOfSetup[], names: readonly string[]): number | null {
  const held = names.flatMap((name, n) =>
    tries.some(({ lights }) => lights.some((own) => own.name === name && own.kind === 'held')) ? [n] : [],
  );
  return held.length === 1 ? held[0]! : null;
}

/** Cells whose change is farthest from what burns through are the hand's; their middle gives the count that was really made. */
function heldGainsOf(tries: readonly TryOfSetup[], rows: readonly number[][], held: number): number[] {
  const first = tries[0]!.map;
  return tries.map(({ map }, j) => {
    const noted = rows[j]![held + 1]! / rows[0]![held + 1]!;
    if (j === 0 || !Number.isFinite(noted) || noted === 0) return 1;
    const burning = Math.log2(rows[j]![0]! / rows[0]![0]!);
    // Where a stand lamp was changed as well, its light cannot be told from the hand's by the change alone: the note is believed.
    const untouched = rows[j]!.every(
      (value, k) => k === held + 1 || rows[0]![k] === 0 || Math.abs(Math.log2(value / rows[0]![k]!) - burning) < 0.05,
    );
    if (!untouched) return 1;
    const changes: number[] = [];
    for (let i = 0; i < map.regions.length; i++) {
      if (map.regions[i] !== REGION.painted || first.regions[i] !== REGION.painted) continue;
      if (map.burnt[i]! > 0 || first.burnt[i]! > 0) continue;
      changes.push(Math.log2(Math.max(FLOOR, map.planes[1][i]!) / Math.max(FLOOR, first.planes[1][i]!)));
    }
    if (changes.length < 60) return 1;
    changes.sort((a, b) => a - b);
    const up = Math.abs(changes[Math.floor(changes.length * 0.9)]! - burning);
    const down = Math.abs(changes[Math.floor(changes.length * 0.1)]! - burning);
    const far = changes[Math.floor(changes.length * (up > down ? 0.85 : 0.15))]!;
    // What was seen, and the note with the miscount of a person, by their certainty.
    const seconds = tries[j]!.lights.find(({ kind }) => kind === 'held')?.seconds ?? 3;
    const miscount = miscountStops(seconds);
    const off = far - Math.log2(noted);
    // Light of a stand lamp on the same ground draws the change towards its own.
    const mixed = rows[j]!.length > 2 && off * (burning - Math.log2(noted)) > 0;
    const seen = mixed ? MIXED_STOPS : SEEN_STOPS;
    const trust = miscount ** 2 / (miscount ** 2 + seen ** 2);
    return 2 ** (trust * Math.max(-1, Math.min(1, off)));
  });
}

/** Lights whose exposures go together in all tries are one group; sky and ambient come first. */
function groupsOf(design: readonly number[][]): number[][] {
  const columns = design[0]!.map((_, k) => design.map((row) => row[k]!));
  const groups: number[][] = [];
  const basis: number[][] = [];
  columns.forEach((column, k) => {
    const size = Math.hypot(...column);
    const rest = basis.reduce(
      (left, unit) => {
        const along = dot(left, unit);
        return left.map((value, n) => value - along * unit[n]!);
      },
      column.map((value) => value / size),
    );
    const beyond = Math.hypot(...rest);
    if (beyond > APART) {
      groups.push([k]);
      basis.push(rest.map((value) => value / beyond));
      return;
    }
    // It goes with the lamp that it resembles most; with the sky only when there is no lamp yet.
    const alike = groups
      .map((group) => ({
        group,
        likeness: dot(unitOf(columns[group[0]!]!), unitOf(column)) - (group[0] === 0 ? 0.02 : 0),
      }))
      .sort((a, b) => b.likeness - a.likeness)[0]!;
    alike.group.push(k);
  });
  return groups;
}

/** One array of planes for each group. */
function solveCells(tries: readonly TryOfSetup[], design: readonly number[][]): LightMap['planes'][] {
  const groups = design[0]!.length;
  const { regions } = tries[0]!.map;
  const cells = regions.length;
  const out = Array.from({ length: groups }, (): LightMap['planes'] => [
    new Float32Array(cells),
    new Float32Array(cells),
    new Float32Array(cells),
  ]);
  const values = new Array<number>(tries.length).fill(0);
  const weights = new Array<number>(tries.length).fill(0);
  for (let i = 0; i < cells; i++) {
    const sky = tries.every(({ map }) => map.regions[i] === REGION.sky);
    for (let c = 0; c < 3; c++) {
      tries.forEach(({ map }, j) => {
        values[j] = Math.max(0, map.planes[c]![i]!);
        const burnt = map.burnt[i]! > 0;
        const sigma = RELATIVE * values[j] + FLOOR;
        weights[j] = burnt ? 0 : 1 / sigma ** 2;
      });
      const x = sky
        ? [skyAlone(design, values, weights), ...new Array<number>(groups - 1).fill(0)]
        : withBounds(design, values, weights);
      x.forEach((value, g) => (out[g]![c]![i] = value));
    }
  }
  return out;
}

function skyAlone(design: readonly number[][], values: readonly number[], weights: readonly number[]): number {
  let top = 0;
  let bottom = 1e-12;
  design.forEach((row, j) => {
    const weight = weights[j]! > 0 ? weights[j]! : 1;
    top += weight * row[0]! * values[j]!;
    bottom += weight * row[0]! ** 2;
  });
  return top / bottom;
}

/** Clipped values count only where the answer would lie below them; once more with a light hand where too few are left. */
function withBounds(design: readonly number[][], values: readonly number[], weights: readonly number[]): number[] {
  const clipped = weights.flatMap((weight, j) => (weight === 0 ? [j] : []));
  if (clipped.length === 0) return nonNegative(design, values, weights);
  const enough = weights.length - clipped.length >= design[0]!.length;
  const own = [...weights];
  if (!enough) clipped.forEach((j) => (own[j] = 0.05 / (RELATIVE * values[j]! + FLOOR) ** 2));
  let x = nonNegative(design, values, own);
  const short = clipped.filter((j) => dot(design[j]!, x) < values[j]!);
  if (enough && short.length > 0) {
    short.forEach((j) => (own[j] = 1 / (RELATIVE * values[j]! + FLOOR) ** 2));
    x = nonNegative(design, values, own);
  }
  return x;
}

function wouldTell(groups: readonly number[][], names: readonly string[], tries: readonly TryOfSetup[]): string | null {
  const together = groups.find((group) => group.length > 1);
  if (together === undefined) return null;
  const lamps = together.filter((k) => k > 0).map((k) => names[k - 1]!);
  const lights = tries.at(-1)!.lights;
  const stand = lamps.find((name) => lights.some((own) => own.name === name && own.kind === 'stand')) ?? lamps.at(-1)!;
  const isHeld = lights.some((own) => own.name === stand && own.kind === 'held');
  const what = together.includes(0) ? ['sky and ambient light', ...lamps] : lamps;
  return `${what.join(' and ')} cannot be told apart yet; one frame ${isHeld ? `without ${stand}` : `with ${stand} off`} would tell.`;
}

function unitOf(column: readonly number[]): number[] {
  const size = Math.hypot(...column) || 1;
  return column.map((value) => value / size);
}
