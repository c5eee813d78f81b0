import type { FrameRecord } from '../model/night.js';
import { likeness, shiftBetween } from './sameFraming.js';

/** Framings at least this alike are one setup; less is asked of the setup that was just being shot. */
const ALIKE = 0.36;
const ALIKE_TO_LAST = 0.31;

/** So many of a setup's last frames are looked at, and so many setups back. */
const LAST_FRAMES = 8;
const LAST_SETUPS = 4;

/** Ground that lies so far beside where it lay, in parts of the frame's longer side, was moved with the tripod; less is lined up. */
const KICK = 0.008;

/** Correlation of the ground at its new place, and what it gains over the old one, before a kick is believed. */
const KICK_SEEN = { value: 0.3, gain: 0.05 };

/** A frame's place in the night. */
export interface Grouped {
  /** From 1. */
  readonly setup: number;
  /** Where a kick of the tripod began this setup: how far the ground moved, upright pixels. */
  readonly kick: { readonly movedPx: number } | null;
}

/**
 * The setup of each record, in the order given (time). Camera, lens, focal length and shape of the frame must agree; then the framing
 * decides. A setup that was left can be come back to. A tripod that was kicked begins a new setup.
 */
export function groupFrames(records: readonly FrameRecord[]): Grouped[] {
  const setups: FrameRecord[][] = [];
  let latest = -1;
  return records.map((record) => {
    let best = { setup: -1, like: 0 };
    let kick: Grouped['kick'] = null;
    for (let n = setups.length - 1; n >= Math.max(0, setups.length - LAST_SETUPS); n--) {
      const members = setups[n]!;
      if (!sameGear(record, members[0]!)) continue;
      const asked = n === latest ? ALIKE_TO_LAST : ALIKE;
      const likes = members.slice(-LAST_FRAMES).map((member) => likeness(record.glance, member.glance));
      const like = Math.max(...likes) / asked;
      if (like < 1 || like <= best.like) continue;
      const moved = kickBetween(members.at(-1)!, record);
      if (moved === null) best = { setup: n, like };
      else if (n === latest) kick = { movedPx: moved };
    }
    if (best.like >= 1) {
      latest = best.setup;
      setups[best.setup]!.push(record);
      return { setup: best.setup + 1, kick: null };
    }
    setups.push([record]);
    latest = setups.length - 1;
    return { setup: setups.length, kick };
  });
}

export function groupSetups(records: readonly FrameRecord[]): number[] {
  return groupFrames(records).map(({ setup }) => setup);
}

/** How far the ground has moved between two frames of one framing, upright pixels; null where it stands. */
function kickBetween(one: FrameRecord, other: FrameRecord): number | null {
  const { width, height } = one.glance;
  const { dx, dy, value, gain, withSkyline } = shiftBetween(one.glance, other.glance);
  const moved = Math.hypot(dx, dy) / Math.max(width, height);
  if (moved < KICK || value < KICK_SEEN.value || gain < KICK_SEEN.gain || !withSkyline) return null;
  const { widthPx, heightPx } = other.reading.settings;
  return Math.round(moved * Math.max(widthPx, heightPx));
}

/** What is said of a kick. */
export function kickInWords({ movedPx }: NonNullable<Grouped['kick']>): string {
  return `The ground moved by about ${String(movedPx)} pixels: the tripod was moved or kicked, so a new setup begins and earlier tries are not compared.`;
}

function sameGear(one: FrameRecord, other: FrameRecord): boolean {
  const [a, b] = [one.reading.settings, other.reading.settings];
  const agree = (x: string | number | null, y: string | number | null): boolean => x === null || y === null || x === y;
  const turned = a.widthPx > a.heightPx !== b.widthPx > b.heightPx;
  return (
    !turned &&
    agree(a.camera, b.camera) &&
    agree(a.lens, b.lens) &&
    (a.focalMm === null || b.focalMm === null || Math.abs(a.focalMm / b.focalMm - 1) < 0.03)
  );
}
