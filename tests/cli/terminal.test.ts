import { expect, it } from 'vitest';
import { readTerminal } from '../../src/machine/terminal.js';

// terminfo: the entry "dumb" has neither el (clear to end of line) nor colours.
it('a dumb terminal gets no line that is written over, and no escape codes', () => {
  expect(readTerminal({ columns: 100, isTTY: true }, { TERM: 'dumb' })).toMatchObject({
    writesOver: false,
    noColour: true,
  });
  expect(readTerminal({ columns: 100, isTTY: true }, { TERM: 'xterm' })).toMatchObject({
    writesOver: true,
    noColour: false,
  });
});
