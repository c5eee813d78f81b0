import type { Vigil } from './vigil.js';
import type { World } from '../world.js';

/** Where answers go: the whole screen, lines of JSON, or text. */
export interface Face {
  ready(): void;
  busy(name: string | null, waiting: number): void;
  /** So many frames have come and are not answered. */
  waiting(count: number): void;
  answered(json: () => string): void;
  trouble(text: string): void;
  /** What is left of the night for this framing. */
  outlook(says: string | null): void;
  present(isThere: boolean): void;
  close(): void;
}

/** What a face draws from, and how it ends the watch. */
export interface FaceNeeds {
  readonly folder: string;
  readonly options: { readonly json?: boolean; readonly bell?: boolean; readonly red: boolean };
  readonly vigil: Vigil;
  readonly world: World;
  readonly end: () => void;
}
