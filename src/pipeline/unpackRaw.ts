/** What a worker needs to unpack raw files; the machine starts it. */
export { unpackRaw, type UnpackedRaw } from '../read/raw/unpack.js';
export { loadLibRaw } from '../read/raw/loadLibRaw.js';
