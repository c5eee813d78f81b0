import { printable } from '../errors.js';
import { writePng } from '../machine/files.js';
import { foretellFrame, type Tried } from '../pipeline/foretellFrame.js';
import { previewPicture, type PreviewFrame } from '../present/picture/previewPicture.js';
import { previewWords } from '../present/previewWords.js';
import type { World } from './world.js';

/** The last of the frames beside what its advice foretells. `frame` is that frame's light. */
export async function drawPreview(path: string, frame: PreviewFrame, tried: readonly Tried[]): Promise<void> {
  const last = tried.at(-1);
  const foretold = foretellFrame(tried);
  if (last === undefined || foretold === null) return;
  const words = previewWords(last.record.reading, foretold);
  await writePng(path, previewPicture(frame, foretold.now, foretold.planes, words));
}

/** The same, and says so. */
export async function writePreview(
  path: string,
  frame: PreviewFrame,
  tried: readonly Tried[],
  world: World,
): Promise<void> {
  await drawPreview(path, frame, tried);
  world.note(`wrote ${printable(path)}`);
}
