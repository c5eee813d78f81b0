import { basename, join } from 'node:path';
import { printable } from '../errors.js';
import { rawBeside } from '../machine/pairs.js';
import type { Reading } from '../model/reading.js';

/** A JPEG that was given without the raw file of its shot: that file knows better what clipped. `given` are the files of the call. */
export async function withRawBeside(reading: Reading, file: string, given: readonly string[]): Promise<Reading> {
  const raw = await rawBeside(file);
  if (raw === null || given.some((own) => join(own) === raw)) return reading;
  const message = `${printable(basename(raw))} lies beside it and holds more than this JPEG shows: give that file, and both are read as one frame.`;
  return { ...reading, warnings: [...reading.warnings, { code: 'raw-beside', message }] };
}
