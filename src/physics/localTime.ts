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

function offsetMinutes(at: Date, zone: string): number {
  const text = new Intl.DateTimeFormat('en', { timeZone: zone, timeZoneName: 'longOffset' })
    .formatToParts(at)
    .find(({ type }) => type === 'timeZoneName')?.value;
  const parts = /([+-])(\d\d):(\d\d)/.exec(text ?? '');
  if (parts === null) return 0;
  return (parts[1] === '-' ? -1 : 1) * (Number(parts[2]) * 60 + Number(parts[3]));
}

function valid(date: Date): Date | null {
  return Number.isNaN(date.getTime()) ? null : date;
}
