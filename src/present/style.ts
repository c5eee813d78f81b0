/** How words reach a screen. `plain` writes no escape codes; `red` writes everything in dim red for dark-adapted eyes. */
export type Look = 'plain' | 'bold' | 'red';

const ESC = '\u001b[';

/** 256-colour index 88 is a dark red on nearly every terminal; 124 a little brighter, for what must be read first. */
const RED = `${ESC}38;5;88m`;
const RED_FIRST = `${ESC}38;5;124m`;
/** Black behind it, whatever the terminal's own ground is. */
const ON_BLACK = `${ESC}48;5;16m`;
const RESET = `${ESC}0m`;

export function first(text: string, look: Look): string {
  if (look === 'plain') return text;
  return look === 'red' ? `${RED_FIRST}${text}${RESET}` : `${ESC}1m${text}${RESET}`;
}

export function rest(text: string, look: Look): string {
  return look === 'red' ? `${RED}${text}${RESET}` : text;
}

/** A line of a full screen: `red` on black, `plain` as the terminal has it. */
export function screenLine(text: string, isFirst: boolean, look: Look): string {
  if (look === 'red') return `${ON_BLACK}${isFirst ? RED_FIRST : RED}${text}${RESET}`;
  return isFirst ? first(text, look) : text;
}

/** Breaks a paragraph to a width at blanks (a number keeps its percent sign); later lines are indented. */
export function wrap(text: string, width: number, indent = ''): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/ (?!%)/)) {
    const limit = Math.max(12, width - (lines.length > 0 ? indent.length : 0));
    if (line !== '' && line.length + 1 + word.length > limit) {
      lines.push(lines.length > 0 ? indent + line : line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  lines.push(lines.length > 0 ? indent + line : line);
  return lines;
}
