import { readdir } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';

const JPEG = new Set(['.jpg', '.jpeg']);
const NO_RAW = new Set([...JPEG, '.tif', '.tiff', '.png']);
const RAW = new Set(
  'dng cr2 cr3 crw nef nrw arw srf sr2 orf rw2 raf pef ptx srw kdc dcr mrw x3f 3fr fff iiq mef mos erf rwl'
    .split(' ')
    .map((ending) => `.${ending}`),
);

/** Endings of frames; everything else on a card is left alone. */
export function isFrameEnding(ending: string): boolean {
  return NO_RAW.has(ending.toLowerCase()) || RAW.has(ending.toLowerCase());
}

/** A frame to read: a file, and the JPEG of the same shot where the file is its raw. */
export interface FrameFile {
  readonly file: string;
  readonly jpeg: string | null;
}

/**
 * Raw and JPEG of one name in one folder are one shot. A JPEG that was given beside its raw file is read with it, not again; one that was
 * given alone is read alone.
 */
export async function pairUp(files: readonly string[]): Promise<FrameFile[]> {
  const jpegsOf = new Map<string, Promise<Map<string, string>>>();
  const found: FrameFile[] = [];
  for (const file of files) {
    const folder = dirname(file);
    if (mayBeRaw(file) && !jpegsOf.has(folder)) jpegsOf.set(folder, jpegsByStem(folder));
    found.push({ file, jpeg: mayBeRaw(file) ? ((await jpegsOf.get(folder))?.get(stemOf(file)) ?? null) : null });
  }
  const taken = new Set(found.map(({ jpeg }) => jpeg));
  return found.filter(({ file }) => !taken.has(join(file)));
}

/** The raw file of a JPEG's shot, by name and folder; null where there is none. */
export async function rawBeside(file: string): Promise<string | null> {
  if (halfOf(file) !== 'jpeg') return null;
  const names = await readdir(dirname(file)).catch(() => []);
  const raw = names.sort().find((name) => RAW.has(extname(name).toLowerCase()) && stemOf(name) === stemOf(file));
  return raw === undefined ? null : join(dirname(file), raw);
}

/** JPEG, raw, or neither: what can be one half of a shot. */
export function halfOf(file: string): 'raw' | 'jpeg' | null {
  if (mayBeRaw(file)) return 'raw';
  return JPEG.has(extname(file).toLowerCase()) ? 'jpeg' : null;
}

function mayBeRaw(file: string): boolean {
  return !NO_RAW.has(extname(file).toLowerCase());
}

export function stemOf(file: string): string {
  return basename(file, extname(file)).toLowerCase();
}

/** JPEGs of a folder by name without ending; of several the first in order. */
async function jpegsByStem(folder: string): Promise<Map<string, string>> {
  const names = await readdir(folder).catch(() => []);
  const jpegs = names.filter((name) => JPEG.has(extname(name).toLowerCase())).sort();
  return new Map(jpegs.reverse().map((name) => [stemOf(name), join(folder, name)]));
}
