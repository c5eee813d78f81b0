import tzLookup from '@photostructure/tz-lookup';

/** IANA name of the zone at a place; null where there is none. */
export function zoneAt(latitudeDeg: number, longitudeDeg: number): string | null {
  try {
    return tzLookup(latitudeDeg, longitudeDeg);
  } catch {
    return null;
  }
}

/** "+02:00", "-03:30" or an IANA name that this machine knows. */
export function isZone(zone: string): boolean {
  if (/^[+-]\d\d:\d\d$/.test(zone)) return Number(zone.slice(1, 3)) <= 14 && Number(zone.slice(4)) < 60;
  try {
    return new Intl.DateTimeFormat('en', { timeZone: zone }).format(0) !== '';
  } catch {
    return false;
  }
}

/**
 * The moment of a camera's wall clock (ISO 8601, with or without a zone of its own). Without one, `zone` says where the clock is; null
 * when neither is known.
 */
export function momentOf(takenAt: string, zone: string | null): Date | null {
  if (/[+-]\d\d:\d\d$/.test(takenAt)) return valid(new Date(takenAt));
  if (zone === null) return null;
  if (/^[+-]\d\d:\d\d$/.test(zone)) return valid(new Date(`${takenAt}${zone}`));
  const asUtc = new Date(`${takenAt}Z`);
  if (valid(asUtc) === null) return null;
  // Twice, so that the offset is the one in force at the moment found.
  const guess = new Date(asUtc.getTime() - offsetMinutes(asUtc, zone) * 60_000);
  return new Date(asUtc.getTime() - offsetMinutes(guess, zone) * 60_000);
}

/** ISO 8601 of a moment on the clock of a zone, to the second; `null` zone: the moment is a wall clock read as UTC, and gets no suffix. */
export function isoIn(at: Date, zone: string | null): string {
  if (zone === null) return at.toISOString().slice(0, 19);
  const minutes = offsetMinutes(at, zone);
  const wall = new Date(Math.round(at.getTime() / 1000) * 1000 + minutes * 60_000).toISOString().slice(0, 19);
  const size = Math.abs(minutes);
  const two = (value: number): string => String(value).padStart(2, '0');
  return `${wall}${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** "02:10" of an ISO text. */
export function clockOf(iso: string): string {
  return iso.slice(11, 16);
}

/** The zone that an ISO text carries; null without one. */
export function zoneOf(iso: string): string | null {
  return /[+-]\d\d:\d\d$/.exec(iso)?.[0] ?? null;
}

function offsetMinutes(at: Date, zone: string): number {
  const text = /^[+-]/.test(zone) ? zone : nameOfOffset(at, zone);
  const parts = /([+-])(\d\d):(\d\d)/.exec(text);
  if (parts === null) return 0;
  return (parts[1] === '-' ? -1 : 1) * (Number(parts[2]) * 60 + Number(parts[3]));
}

/** Like "GMT+02:00". */
function nameOfOffset(at: Date, zone: string): string {
  const text = new Intl.DateTimeFormat('en', { timeZone: zone, timeZoneName: 'longOffset' })
    .formatToParts(at)
    .find(({ type }) => type === 'timeZoneName')?.value;
  return text ?? '';
}

function valid(date: Date): Date | null {
  return Number.isNaN(date.getTime()) ? null : date;
}
