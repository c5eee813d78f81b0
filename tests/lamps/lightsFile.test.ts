import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { PaintstopError } from '../../src/errors.js';
import { EXAMPLE_LIGHTS, lampsOfFrame, parseLights, withChanges } from '../../src/lamps/lightsFile.js';
import type { Light } from '../../src/model/reading.js';
import { lightsSchema } from '../contracts/lightsSchema.js';

const problem = (text: string): string => {
  try {
    parseLights(text, 'lights.yaml');
  } catch (cause) {
    expect(cause).toBeInstanceOf(PaintstopError);
    return (cause as PaintstopError).message;
  }
  return 'none';
};

describe('a lights file', () => {
  it('the example is read, and gives the lamps of each frame', () => {
    const lights = parseLights(EXAMPLE_LIGHTS, 'lights.yaml');
    expect(lights.lamps.map(({ name, kind }) => [name, kind])).toEqual([
      ['torch', 'held'],
      ['back', 'stand'],
    ]);
    expect(lights.lamps[0]!.powers).toEqual([1, 0.5, 0.25, 0.1]);
    expect(lampsOfFrame(lights, 'moor-0412.dng').map(({ seconds, power }) => [seconds, power])).toEqual([
      [3, 1],
      [null, 0.5],
    ]);
    for (const later of ['moor-0413.dng', 'night/moor-0500.jpg', 'moor-10000.jpg'])
      expect(lampsOfFrame(lights, later).map(({ seconds, power }) => [seconds, power])).toEqual([
        [1.5, 1],
        [null, 0.25],
      ]);
  });

  it.each([
    ['lamps:\n  torch: { kind: hand }\n', /line 2, column 18: torch needs its kind/],
    ['lamps:\n  torch:\n    kind: held\n    seconds: three\n', /line 4, column 14: seconds must be a number/],
    ['lamps:\n  back: { kind: stand, seconds: 2 }\n', /line 2, column 24: a stand lamp burns through/],
    ['lamps:\n  torch: { kind: held, watts: 3 }\n', /line 2, column 24: watts is not known/],
    ['lamps:\n  torch: { kind: held }\n  torch: { kind: held }\n', /line 3, column 3: /],
    ['lamps: [1, 2\n', /line \d+, column \d+: /],
    ['['.repeat(20_000), /line 1, column \d+: this is nested too deeply/],
    ['lamps: {}\n---\nlamps: {}\n', /line 2, column 1: a second document begins here/],
    ['lamp: {}\n', /line 1, column 1: lamp is not known/],
    [
      'lamps:\n  torch: { kind: held }\nchanges:\n  - from: a\n    rim: { power: 1 }\n',
      /line 5, column 5: rim is none/,
    ],
    ['lamps:\n  torch: { kind: held }\nchanges:\n  - torch: { seconds: 1 }\n', /line 4, column 5: a change begins/],
    ['lamps:\n  torch: { kind: held, power: 1.5 }\n', /line 2, column 31: power must be a number from 0 to 1/],
    ['lamps:\n  torch: { kind: held, powers: [0] }\n', /line 2, column 33: each of powers/],
    ['- 1\n', /line 1, column 1: /],
    ['lamps:\n  torch: { kind: held }\n  Torch: { kind: held }\n', /line 3, column 3: Torch is there already/],
    ['lamps:\n  undo: { kind: held }\n', /line 2, column 3: a lamp has a name/],
  ])('%j is refused with its line and column', (text, message) => {
    expect(problem(text)).toMatch(message);
  });

  it.each(['', '# only a comment\n', 'lamps:\n', 'lamps: {}\nchanges: []\n'])('%j holds no lamps', (text) => {
    expect(parseLights(text, 'lights.yaml')).toEqual({ lamps: [], changes: [] });
  });

  it('the published schema and the reader agree', () => {
    const figure = fc.oneof(fc.double({ min: -1, max: 2, noNaN: true }), fc.constantFrom('x', 0, 1, 3, null));
    const lamp = fc.record(
      {
        kind: fc.constantFrom('held', 'stand', 'x'),
        seconds: figure,
        metres: figure,
        power: figure,
        powers: fc.array(figure, { maxLength: 2 }),
      },
      { requiredKeys: ['kind'] },
    );
    fc.assert(
      fc.property(fc.dictionary(fc.constantFrom('torch', 'back', 'rim'), lamp, { noNullPrototype: true }), (lamps) => {
        const text = JSON.stringify({ lamps });
        expect(problem(text) === 'none', `${text} ${problem(text)}`).toBe(
          lightsSchema.safeParse(JSON.parse(text)).success,
        );
      }),
    );
    expect(lightsSchema.safeParse(parse(EXAMPLE_LIGHTS)).success).toBe(true);
  });

  it('our lines are added; comments and what is there stay', () => {
    const added = withChanges(
      EXAMPLE_LIGHTS,
      'lights.yaml',
      [{ from: '0420.jpg', settings: [{ lamp: 'back', power: 0 }] }],
      [{ name: 'rim', kind: 'stand', seconds: null, distanceM: 9, power: null }],
    );
    const lines = added.split('\n');
    expect(EXAMPLE_LIGHTS.split('\n').filter((line) => !lines.includes(line))).toEqual([]);
    const lights = parseLights(added, 'lights.yaml');
    expect(lights.lamps.map(({ name }) => name)).toEqual(['torch', 'back', 'rim']);
    expect(lights.changes.at(-1)).toEqual({ from: '0420.jpg', settings: [{ lamp: 'back', power: 0 }] });
    expect(parseLights(withChanges('', 'x', [{ from: 'a', settings: [] }]), 'x').changes).toHaveLength(1);
    expect(withChanges(EXAMPLE_LIGHTS, 'x', [])).toBe(EXAMPLE_LIGHTS);
  });

  it.each([
    ['block', 'lamps:\n    torch:\n        kind: held # x\n\n# end'],
    ['flow', 'lamps: { torch: { kind: held } }\nchanges: []\n'],
    ['null', 'lamps:\nchanges:\n'],
    ['all in braces', '{ lamps: { torch: { kind: held } } }\n'],
    ['with an end', 'lamps:\n  torch: { kind: held }\n...\n'],
    ['changes first', 'changes:\n- from: a\n  torch: { seconds: 2 }\nlamps:\n  torch: { kind: held }'],
    ['nothing', ''],
  ])('adds to a file written in another manner: %s', (_, text) => {
    const before = parseLights(text, 'x');
    const rim: Light = { name: 'no: 1', kind: 'stand', seconds: null, distanceM: 9, power: null };
    const changes = [{ from: '0420.jpg', settings: [{ lamp: 'no: 1', power: 0.5 }] }];
    const after = parseLights(withChanges(text, 'x', changes, [rim]), 'x');
    expect(after).toEqual({ lamps: [...before.lamps, rim], changes: [...before.changes, ...changes] });
  });

  it.each(['constructor', 'toString', '__proto__'])('%s is no figure of a lamp', (name) => {
    expect(() => parseLights(`lamps: { torch: { kind: held, ${name}: 3 } }`, 'x')).toThrow(/is not known here/);
  });

  it('any text gives lamps or one sentence, never anything else', () => {
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.string({
            unit: fc.constantFrom(
              'lamps:',
              ' ',
              '{',
              '}',
              '[',
              ']',
              '- ',
              'torch:',
              'kind: held',
              '\n',
              '&a',
              '*a',
              '!x',
              '? ',
              '| ',
              '> ',
              '#',
            ),
          }),
        ),
        (text) => {
          expect(problem(text)).toMatch(
            /^none$|^lights\.yaml, line \d+, column \d+: .+; see paintstop lights --example\.$/,
          );
        },
      ),
      { numRuns: 400 },
    );
  });
});
