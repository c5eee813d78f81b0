import type { Key } from 'node:readline';
import { enterFullScreen, type FullScreen } from '../../machine/fullScreen.js';
import { screenLine } from '../../present/style.js';
import { ASCII_STROKES, UNICODE_STROKES } from '../../present/watch/gauges.js';
import { watchScreen } from '../../present/watch/watchScreen.js';
import type { Face, FaceNeeds } from './face.js';

/** The whole terminal: large letters, gauges, and a line to type notes in. */
export function screenFace({ folder, options, vigil, world, end }: FaceNeeds): Face {
  const look = world.look(options.red);
  let typed = '';
  let isThere = true;
  let busy: string | null = null;
  let waiting = 0;
  let trouble: string | null = null;
  let outlook: string | null = null;
  let screen: FullScreen | null = null;
  const draw = (): void => {
    if (screen === null) return;
    const { columns, rows } = screen.size();
    const { nextLamps } = vigil;
    const view = {
      folder,
      isThere,
      reading: busy,
      waiting,
      frame: vigil.frame,
      tries: vigil.triesShown,
      nextLamps: nextLamps.lamps,
      nextNoted: nextLamps.noted,
      typed,
      says: trouble ?? vigil.says,
      help: vigil.help,
      outlook,
    };
    const lines = watchScreen(view, columns, rows, world.unicode ? UNICODE_STROKES : ASCII_STROKES);
    screen.draw(lines.map(({ text, first }) => screenLine(text, first, look)));
  };
  const onKey = (text: string | undefined, key: Key): void => {
    if (key.ctrl === true && (key.name === 'c' || key.name === 'd')) {
      end();
      return;
    }
    trouble = null;
    if (key.name === 'return' || key.name === 'enter') {
      const line = typed;
      typed = '';
      void vigil.type(line).then((asked) => {
        if (asked === 'quit') end();
        else draw();
      });
    } else if (key.name === 'backspace') typed = Array.from(typed).slice(0, -1).join('');
    else if (key.name === 'escape' || (key.ctrl === true && key.name === 'u')) typed = '';
    else if (key.ctrl !== true && key.meta !== true && text !== undefined && typed.length < 60)
      typed += text.replace(/\p{C}/gu, '');
    draw();
  };
  screen = enterFullScreen(process.stdin, process.stdout, onKey, draw);
  draw();
  return {
    ready: draw,
    busy: (name, more) => {
      busy = name;
      waiting = more;
      draw();
    },
    waiting: (count) => {
      if (count === waiting) return;
      waiting = count;
      draw();
    },
    answered: () => {
      trouble = null;
      draw();
      if (options.bell === true) screen.bell();
    },
    outlook: (says) => {
      outlook = says;
      draw();
    },
    trouble: (text) => {
      trouble = text;
      draw();
    },
    present: (there) => {
      isThere = there;
      draw();
    },
    close: () => {
      screen.leave();
    },
  };
}
