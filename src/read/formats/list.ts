import { jpeg } from './jpeg.js';
import { png } from './png.js';
import { raw } from './raw.js';
import { tiff } from './tiff.js';
import type { Format } from './format.js';

/** Every format that can be read. To add one, see docs/adding-a-format.md. */
export const FORMATS: readonly Format[] = [jpeg, png, tiff, raw];
