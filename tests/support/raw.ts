import { execFileSync, spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import type { unpackRawApart } from '../../src/machine/rawDecoder.js';
import { loadLibRaw } from '../../src/read/raw/loadLibRaw.js';

/** The built unpacker: a worker thread needs a built file. */
export async function builtUnpacker(): Promise<typeof unpackRawApart> {
  const built = new URL('../../dist/machine/rawDecoder.js', import.meta.url).href;
  return ((await import(built)) as { unpackRawApart: typeof unpackRawApart }).unpackRawApart;
}

export async function librawHere(): ReturnType<typeof loadLibRaw> {
  const folder = dirname(createRequire(import.meta.url).resolve('libraw-wasm'));
  const wasm = (globalThis as unknown as { WebAssembly: { compile(bytes: Uint8Array): Promise<unknown> } }).WebAssembly;
  return loadLibRaw(await wasm.compile(readFileSync(join(folder, 'libraw.wasm'))));
}

export function has(program: string): boolean {
  return spawnSync('which', [program]).status === 0;
}

/** `dcraw -D -4`: the mosaic as it is stored, from a 16-bit PGM. */
export function dcrawMosaic(path: string): { width: number; height: number; data: Uint16Array } {
  const pgm = execFileSync('dcraw', ['-D', '-4', '-t', '0', '-c', path], { maxBuffer: 1e9 });
  const head = /^P5\s+(\d+) (\d+)\s+(\d+)\n/.exec(pgm.subarray(0, 60).toString('latin1'))!;
  const [width, height] = [Number(head[1]), Number(head[2])];
  const data = Uint16Array.from({ length: width * height }, (_, i) => pgm.readUInt16BE(head[0].length + i * 2));
  return { width, height, data };
}
