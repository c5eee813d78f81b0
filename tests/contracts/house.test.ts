import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { RULES } from '../../src/advise/rules/list.js';
import { ERROR_CATALOGUE } from '../../src/errors.js';
import { FORMATS } from '../../src/read/formats/list.js';
import { paintstop, ROOT } from '../support/run.js';

const stems = (folder: string, ending: string): string[] =>
  readdirSync(join(ROOT, folder))
    .filter((name) => name.endsWith(ending))
    .map((name) => basename(name, ending));

describe('one idea, one file, one id, one page', () => {
  it('rules', () => {
    const ids = RULES.map((rule) => rule.id).sort();
    expect(
      stems('src/advise/rules', '.ts')
        .filter((name) => !['list', 'rule'].includes(name))
        .sort(),
    ).toEqual(ids);
    expect(stems('docs/rules', '.md').sort()).toEqual(ids);
  });
  it('formats', () => {
    const ids = FORMATS.map((format) => format.id).sort();
    expect(
      stems('src/read/formats', '.ts')
        .filter((name) => !['list', 'format'].includes(name))
        .sort(),
    ).toEqual(ids);
    expect(stems('docs/formats', '.md').sort()).toEqual(ids);
  });
  it('measures', () => {
    const files = [
      ...stems('src/measure', '.ts').filter((name) => name !== 'pixels'),
      'stars',
      'starCurve',
      'pointing',
    ].sort();
    expect(stems('docs/measures', '.md').sort()).toEqual(files);
  });
  it('errors: catalogue and page name the same codes and exit statuses', () => {
    const page = readFileSync(join(ROOT, 'docs/conventions.md'), 'utf8');
    const listed = Array.from(page.matchAll(/^\| `([\w-]+)` \| (\d) \|/gm), (match) => [match[1], Number(match[2])]);
    expect(listed).toEqual(Object.entries(ERROR_CATALOGUE).map(([code, { exitStatus }]) => [code, exitStatus]));
  });
});

describe('documentation', () => {
  const pages = [
    'README.md',
    'DEVELOPERS.md',
    ...readdirSync(join(ROOT, 'docs'), { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.md'))
      .map((name) => join('docs', name)),
  ];
  it.each(pages)('%s: every link leads somewhere', (page) => {
    const text = readFileSync(join(ROOT, page), 'utf8');
    for (const [, target] of text.matchAll(/\]\(([^)#\s]+)[^)]*\)/g))
      if (!/^https?:/.test(target!))
        expect(existsSync(join(ROOT, dirname(page), target!)), `${page} -> ${target!}`).toBe(true);
  });
  it('the README shows the two commands and the cautions', () => {
    const text = readFileSync(join(ROOT, 'README.md'), 'utf8');
    expect(text).toContain('npm ci && npm start');
    expect(text).toContain('npm ci && npm test');
    for (const word of [
      'Headlamp on',
      'Learn the ground by daylight',
      'Someone knows where you are',
      'snakes',
      'cliffs',
      'Weight the stand',
      'forbid light painting',
    ])
      expect(text).toContain(word);
  });
  it('the README shows what the program prints', () => {
    const folder = mkdtempSync(join(tmpdir(), 'paintstop-readme-'));
    try {
      paintstop(['demo', '--pictures', folder]);
      const lamps = ['--held', 'torch:3s@6m', '--stand', 'back@8m*0.5'];
      const ran = paintstop(['frame', join(folder, 'moor-0412.dng'), ...lamps], { COLUMNS: '110' });
      expect(readFileSync(join(ROOT, 'README.md'), 'utf8')).toContain(ran.out.trimEnd());
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
  it('every option is in the README', () => {
    const source = [
      'commands/frame.ts',
      'commands/night.ts',
      'commands/sky.ts',
      'commands/plan.ts',
      'commands/why.ts',
      'commands/whatIf.ts',
      'commands/watch.ts',
      'readingOptions.ts',
    ]
      .map((name) => readFileSync(join(ROOT, 'src/cli', name), 'utf8'))
      .join('\n');
    const readme = readFileSync(join(ROOT, 'README.md'), 'utf8');
    for (const [, option] of source.matchAll(/\.option\(\s*'(--[a-z-]+)/g)) expect(readme, option).toContain(option);
  });
});
