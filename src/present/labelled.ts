import { first, rest, wrap, type Look } from './style.js';

/** Text in lines under a headline, each paragraph with a label of its own in the margin. */
export interface Labelled {
  readonly columns: number;
  readonly lines: string[];
  readonly headline: (text: string) => void;
  readonly put: (label: string, text: string) => void;
}

const MARGIN = 9;

export function labelled(width: number, look: Look): Labelled {
  const columns = Math.max(40, Math.min(width, 110));
  const lines: string[] = [];
  return {
    columns,
    lines,
    headline: (text) => {
      for (const line of wrap(text, columns, '  ')) lines.push(first(line, look));
    },
    put: (label, text) => {
      wrap(text, columns - MARGIN).forEach((line, n) => {
        lines.push(rest((n === 0 ? label : '').padEnd(MARGIN) + line, look));
      });
    },
  };
}
