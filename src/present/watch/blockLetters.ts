import figlet from 'figlet';
import letters from 'figlet/fonts/ANSI Regular';

const FONT = 'block';
figlet.parseFont(FONT, letters);

/** Lines of a block letter. */
export const BLOCK_HEIGHT = 5;

/** The font has no plus sign. */
const PLUS = ['', ' ██', '████', ' ██', ''].map((line) => line.padEnd(5));

/** The first of several wordings that fits the width, in block letters; null when none does. `mark` is what letters are made of. */
export function blockLetters(wordings: readonly string[], width: number, mark: string): string[] | null {
  for (const wording of wordings) {
    const parts = wording.toUpperCase().split('+').map(drawn);
    const lines = PLUS.map((plus, n) => parts.map((part) => part[n] ?? '').join(plus));
    const widest = Math.max(...lines.map((line) => line.trimEnd().length));
    if (widest > 0 && widest <= width) return lines.map((line) => line.trimEnd().replaceAll('█', mark));
  }
  return null;
}

/** Lines of equal length. */
function drawn(text: string): string[] {
  const lines = figlet.textSync(text, { font: FONT, width: 10_000 }).split('\n').slice(0, BLOCK_HEIGHT);
  const widest = Math.max(...lines.map((line) => line.length));
  return lines.map((line) => line.padEnd(widest));
}
