/** What is known of the terminal that standard output goes to. */
export interface Terminal {
  readonly columns: number;
  readonly isTerminal: boolean;
  /** NO_COLOR (no-color.org) or a dumb terminal: write no escape codes. */
  readonly noColour: boolean;
  /** A line can be taken back and written over. A dumb terminal cannot. */
  readonly writesOver: boolean;
  /** Letters beyond ASCII may be written. */
  readonly unicode: boolean;
}

export function readTerminal(stream: { columns?: number; isTTY?: boolean }, environment: NodeJS.ProcessEnv): Terminal {
  const told = Number(environment['COLUMNS']);
  const columns = stream.columns ?? (Number.isInteger(told) && told > 0 ? told : 80);
  const isTerminal = stream.isTTY ?? false;
  const dumb = environment['TERM'] === 'dumb';
  return {
    columns: columns > 0 ? columns : 80,
    isTerminal,
    unicode: /utf-?8/i.test(environment['LC_ALL'] || environment['LC_CTYPE'] || environment['LANG'] || ''),
    writesOver: !dumb,
    noColour: (environment['NO_COLOR'] ?? '') !== '' || dumb,
  };
}
