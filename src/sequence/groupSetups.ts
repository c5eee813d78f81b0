import type { FrameRecord } from '../model/night.js';
import { likeness } from './sameFraming.js';

/** Framings at least this alike are one setup; less is asked of the setup that was just being shot. */
const ALIKE = 0.36;
const ALIKE_TO_LAST = 0.31;

/** So many of a setup's last frames are looked at, and so many setups back. */
const LAST_FRAMES = 8;
const LAST_SETUPS = 4;

/**
 * Setup number (from 1) of each record, in the order given (time). Camera, lens, focal length and shape of the frame must agree; then the
 * framing decides. A setup that was left can be come back to.
 */
export function groupSetups(records: readonly FrameRecord[]): number[] {
  const setups: FrameRecord[][] = [];
  let latest = -1;
  return records.map((record) => {
    let best = { setup: -1, like: 0 };
    for (let n = setups.length - 1; n >= Math.max(0, setups.length - LAST_SETUPS); n--) {
      const members = setups[n]!;
      if (!sameGear(record, members[0]!)) continue;
      const asked = n === latest ? ALIKE_TO_LAST : ALIKE;
      const likes = members.slice(-LAST_FRAMES).map((member) => likeness(record.glance, member.glance));
      const like = Math.max(...likes) / asked;
      if (like > best.like) best = { setup: n, like };
    }
    if (best.like >= 1) {
      latest = best.setup;
      setups[best.setup]!.push(record);
      return best.setup + 1;
    }
    setups.push([record]);
    latest = setups.length - 1;
    return setups.length;
  });
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
