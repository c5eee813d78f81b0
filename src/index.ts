/** What another program may import. */
export { readOneFrame, type FrameResult } from './pipeline/readOneFrame.js';
export { readPair } from './pipeline/readPair.js';
export { unpackRawApart } from './machine/rawDecoder.js';
export { readingAsJson } from './present/json.js';
export { DEFAULT_WISHES, type Wishes } from './model/wishes.js';
export { PaintstopError, type ErrorCode } from './errors.js';
export { skyNetwork } from './machine/skyNetwork.js';
export type { ReadOptions } from './read/readFrame.js';
export type { Tools } from './pipeline/guidance.js';
export type { Advice, Change, Clip, Light, Option, Reading, Stars } from './model/reading.js';
