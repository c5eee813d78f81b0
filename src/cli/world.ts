import type { PaintstopError } from '../errors.js';
import { readTerminal } from '../machine/terminal.js';
import type { Look } from '../present/style.js';

/** What a command may do to the outside: write, and say how it ended. */
export interface World {
  readonly columns: number;
  /** Letters beyond ASCII may be written. */
  readonly unicode: boolean;
  out(text: string): void;
  /** A line for the person, on standard error. */
  note(text: string): void;
  /** One line that is written over by the next; null takes it away. Nothing where standard error is no terminal, or a dumb one. */
  progress(text: string | null): void;
  fail(error: PaintstopError): void;
  look(red: boolean): Look;
  setExit(status: number): void;
  exitStatus(): number;
}

export function processWorld(): World {
  const terminal = readTerminal(process.stdout, process.env);
  let status = 0;
  // A reader that goes away (head, a closed pager) is no fault; a full disk is one, told once.
  let broken = false;
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE' || broken) return;
    broken = true;
    process.exitCode = 1;
    process.stderr.write(
      `paintstop: the output cannot be written (${error.code ?? 'unknown fault'}); free some space or write elsewhere.\n`,
    );
  });
  process.stderr.on('error', () => undefined);
  return {
    columns: terminal.columns,
    unicode: terminal.unicode,
    out: (text) => process.stdout.write(text),
    note: (text) => process.stderr.write(`${text}\n`),
    progress: (text) => {
      if (process.stderr.isTTY && terminal.writesOver)
        process.stderr.write(
          text === null ? '\r\u001b[K' : `\r\u001b[K${text.slice(0, Math.max(10, terminal.columns - 1))}`,
        );
    },
    fail: (error) => {
      process.stderr.write(`paintstop: ${error.message}\n`);
      if (error.exitStatus === 2) status = 2;
    },
    look: (red) => {
      if (terminal.noColour) return 'plain';
      if (red) return 'red';
      return terminal.isTerminal ? 'bold' : 'plain';
    },
    setExit: (value) => {
      status = Math.max(status, value);
    },
    exitStatus: () => status,
  };
}
