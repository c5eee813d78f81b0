import { resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { printable } from '../../errors.js';
import { readingAsText } from '../../present/terminal.js';
import type { Face, FaceNeeds } from './face.js';

/** Answers as text or as lines of JSON; notes are read from standard input. */
export function lineFace({ folder, options, vigil, world, end }: FaceNeeds): Face {
  const input = createInterface({ input: process.stdin });
  input.on('line', (line) => {
    void vigil.type(line).then((asked) => {
      if (asked === 'quit') end();
      else if (vigil.says !== null) world.note(printable(vigil.says));
    });
  });
  process.stdout.on('error', end);
  return {
    ready: () => {
      world.note(`paintstop: watching ${printable(resolve(folder))}; what lies there already is left alone.`);
    },
    busy: (name) => {
      world.progress(name === null ? null : `reading ${printable(name)}`);
    },
    waiting: () => undefined,
    answered: (json) => {
      const { frame } = vigil;
      if (options.json === true) world.out(`${json()}\n`);
      else if (frame !== null)
        world.out(`${readingAsText(frame.reading, world.columns, world.look(options.red && process.stdout.isTTY))}\n`);
      if (vigil.says !== null) world.note(printable(vigil.says));
      if (options.bell === true) process.stderr.write('\u0007');
    },
    outlook: (says) => {
      if (says !== null && options.json !== true) world.note(printable(says));
    },
    trouble: (text) => {
      world.note(`paintstop: ${printable(text)}`);
    },
    present: (isThere) => {
      world.note(isThere ? 'paintstop: the folder is there again.' : 'paintstop: the folder is gone; waiting for it.');
    },
    close: () => {
      input.close();
      // A pipe that stays open must not keep the program; a file has no unref.
      (process.stdin as { unref?: () => void }).unref?.();
    },
  };
}
