import { printable } from '../../errors.js';
import type { Finding, Lessons, Remedy } from '../../model/lesson.js';
import type { Option } from '../../model/reading.js';
import { WALK_CAUTION } from '../cautions.js';
import { first, rest, wrap, type Look } from '../style.js';

/** The lessons of a frame in words, gravest first. */
export function lessonsAsText(lessons: Lessons, width: number, look: Look): string {
  const columns = Math.max(40, Math.min(width, 100));
  const lines: string[] = [];
  const put = (text: string, indent: string, lead = ''): void => {
    wrap(`${lead}${text}`, columns - indent.length, ' '.repeat(lead.length)).forEach((line) => {
      lines.push(rest(indent + line, look));
    });
  };
  const { findings, file, doubt, lamps } = lessons;
  if (doubt !== null) put(`${printable(file)}: ${doubt}`, '', 'doubt  ');
  if (doubt !== null && findings.length > 0) lines.push('');
  if (findings.length === 0 && doubt === null)
    lines.push(
      first(
        `${printable(file)}: nothing to teach. Sky, paint, highlights and stars are as they should be, or near enough.`,
        look,
      ),
    );
  findings.forEach((finding, n) => {
    if (n > 0) lines.push('');
    for (const line of wrap(`${String(n + 1)}. ${finding.title}`, columns, '   ')) lines.push(first(line, look));
    put(finding.sees, '   ');
    put(finding.because, '   ', 'Why: ');
    put(finding.law, '   ', 'Law: ');
    put(finding.arithmetic, '   ', 'Sum: ');
    if (finding.remedies.length > 0) put('What would have helped:', '   ');
    for (const remedy of finding.remedies) put(remedyInWords(remedy), '   ', '- ');
    put(finding.check, '   ', 'In the field: ');
  });
  if (lamps !== null) {
    lines.push('');
    put(lamps, '', 'lamps  ');
  }
  if (walks(findings)) {
    lines.push('');
    put(WALK_CAUTION, '', 'safety ');
  }
  return `${lines.join('\n')}\n`;
}

function walks(findings: readonly Finding[]): boolean {
  return findings.some(({ remedies }) => remedies.some(({ price }) => price.includes('walk')));
}

/** "count half as long (torch): sky -4.6, paint 0.9 over it, 0.1 % clipped; price: ..." */
function remedyInWords({ does, price, gives }: Remedy): string {
  const what = gives === null ? does : `${does}: ${outcomeInWords(gives)}`;
  return `${what} (price: ${price})`;
}

export function outcomeInWords(gives: Option['predicted']): string {
  const parts: string[] = [];
  if (gives.skyStops !== null) parts.push(`sky ${gives.skyStops.toFixed(1)}`);
  if (gives.balanceStops !== null)
    parts.push(`paint ${Math.abs(gives.balanceStops).toFixed(1)} ${gives.balanceStops < 0 ? 'under' : 'over'} it`);
  if (gives.paintedClippedFraction !== null)
    parts.push(`${String(Number((gives.paintedClippedFraction * 100).toPrecision(2)))} % of the paint clipped`);
  if (gives.trailPx !== null) parts.push(`stars ${gives.trailPx.toFixed(1)} px`);
  return parts.join(', ');
}
