import { PaintstopError } from '../errors.js';
import { isZone } from '../physics/localTime.js';
import type { Whereabouts } from '../pipeline/frameTime.js';

export interface PlaceOptions {
  readonly lat?: number;
  readonly lon?: number;
  readonly tz?: string;
}

/** Where the camera stood, as far as it was told. Throws `wrong-use` for half a place or an unknown zone. */
export function placeOptionsOf({ lat, lon, tz }: PlaceOptions): Whereabouts {
  if (tz !== undefined && !isZone(tz))
    throw new PaintstopError('wrong-use', `${tz} is no time zone`, 'give one like Europe/Madrid or +02:00');
  if ((lat === undefined) !== (lon === undefined))
    throw new PaintstopError('wrong-use', '--lat and --lon belong together', 'give both, or neither');
  return { latitudeDeg: lat ?? null, longitudeDeg: lon ?? null, zone: tz ?? null };
}
