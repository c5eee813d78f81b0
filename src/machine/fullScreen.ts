import { emitKeypressEvents, type Key } from 'node:readline';
import type { ReadStream, WriteStream } from 'node:tty';

/** The whole terminal: drawn line by line in one write, without clearing, so that nothing flickers; left as it was found. */
export interface FullScreen {
  size(): { readonly columns: number; readonly rows: number };
  /** `lines` are of full width already. */
  draw(lines: readonly string[]): void;
  bell(): void;
  leave(): void;
}

const ESC = '\u001b[';
const ENTER = `${ESC}?1049h${ESC}?25l${ESC}?7l`;
const LEAVE = `${ESC}0m${ESC}?7h${ESC}?25h${ESC}?1049l`;

export function enterFullScreen(
  input: ReadStream,
  output: WriteStream,
  onKey: (text: string | undefined, key: Key) => void,
  onResize: () => void,
): FullScreen {
  let left = false;
  const leave = (): void => {
    if (left) return;
    left = true;
    input.removeListener('keypress', onKey);
    output.removeListener('resize', onResize);
    process.removeListener('exit', leave);
    if (input.isTTY) input.setRawMode(false);
    input.pause();
    output.write(LEAVE);
  };
  emitKeypressEvents(input);
  if (input.isTTY) input.setRawMode(true);
  input.on('keypress', onKey);
  input.resume();
  output.on('resize', onResize);
  process.on('exit', leave);
  output.write(ENTER);
  return {
    size: () => ({ columns: Math.max(20, output.columns || 80), rows: Math.max(6, output.rows || 24) }),
    draw: (lines) => {
      if (!left) output.write(lines.map((line, n) => `${ESC}${String(n + 1)};1H${line}`).join(''));
    },
    bell: () => {
      if (!left) output.write('\u0007');
    },
    leave,
  };
}
