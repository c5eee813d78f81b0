import type { Settings } from '../model/frame.js';
import { momentOf, zoneAt, zoneOf } from '../physics/localTime.js';

/** Where and when the night was, as far as the frames do not say. */
export interface Whereabouts {
  readonly latitudeDeg: number | null;
  readonly longitudeDeg: number | null;
  readonly zone: string | null;
}

/** When and where a frame was taken. Without a zone the wall clock is taken as it stands, and altitudes are not known. */
export interface FrameTime {
  /** Middle of the exposure. */
  readonly moment: Date;
  readonly known: boolean;
  readonly zone: string | null;
  readonly place: { readonly latitudeDeg: number; readonly longitudeDeg: number } | null;
}

export function timeOf({ takenAt, position, shutterSeconds }: Settings, where: Whereabouts): FrameTime {
  const latitudeDeg = position?.latitudeDeg ?? where.latitudeDeg;
  const longitudeDeg = position?.longitudeDeg ?? where.longitudeDeg;
  const place = latitudeDeg === null || longitudeDeg === null ? null : { latitudeDeg, longitudeDeg };
  const half = (shutterSeconds ?? 0) * 500;
  const zone =
    (takenAt === null ? null : zoneOf(takenAt)) ??
    where.zone ??
    (place === null ? null : zoneAt(place.latitudeDeg, place.longitudeDeg));
  const start = takenAt === null ? null : momentOf(takenAt, zone ?? '+00:00');
  if (start === null) return { moment: new Date(Date.UTC(2026, 0, 1) + half), known: false, zone: null, place };
  return { moment: new Date(start.getTime() + half), known: true, zone, place };
}

export function later({ moment }: FrameTime, seconds: number): Date {
  return new Date(moment.getTime() + seconds * 1000);
}
