import { BRIGHT_STAR_TABLE } from './data/brightStarTable.js';
import { NAMED_STARS } from './data/namedStars.js';

export interface CatalogueStar {
  readonly rightAscensionDeg: number;
  readonly declinationDeg: number;
  readonly magnitude: number;
  readonly colourIndex: number;
}

/** The 5,044 stars to V = 6 of the packed table; positions are good to 0.006 degrees (J2000). */
export function brightStars(): CatalogueStar[] {
  const packed = Uint8Array.from(atob(BRIGHT_STAR_TABLE), (letter) => letter.charCodeAt(0));
  const view = new DataView(packed.buffer);
  return Array.from({ length: packed.length / 6 }, (_, index) => ({
    rightAscensionDeg: (view.getUint16(index * 6, true) / 65535) * 360,
    declinationDeg: (view.getInt16(index * 6 + 2, true) / 32767) * 90,
    magnitude: view.getUint8(index * 6 + 4) / 30 - 2,
    colourIndex: view.getInt8(index * 6 + 5) / 50,
  }));
}

/** A bright star by its name in any case; null when it is not in the list. */
export function namedStar(name: string): Pick<CatalogueStar, 'rightAscensionDeg' | 'declinationDeg'> | null {
  const found = NAMED_STARS.find(([own]) => own.toLowerCase() === name.toLowerCase());
  return found === undefined ? null : { rightAscensionDeg: found[1], declinationDeg: found[2] };
}

export function starNames(): readonly string[] {
  return NAMED_STARS.map(([name]) => name);
}
