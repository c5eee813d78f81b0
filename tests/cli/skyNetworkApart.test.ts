import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';

/** As built: the thread's own module is found beside it. Ends by itself, though the thread is never told to. */
function lookTwice(): { apart: number[]; here: number[]; again: number[] } {
  const script = `
    import { skyNetwork } from './dist/machine/skyNetwork.js';
    import { skyNetworkApart } from './dist/machine/skyNetworkApart.js';
    const values = Float32Array.from({ length: 70 * 50 * 7 }, (_, i) => Math.sin(i));
    const look = { width: 70, height: 50, values };
    const network = await skyNetworkApart();
    const [apart, again] = await Promise.all([network.look(look), network.look(look)]);
    const here = await (await skyNetwork()).look(look);
    const all = ({ width, height, sky, source, painted }) => [width, height, ...sky, ...source, ...painted];
    console.log(JSON.stringify({ apart: all(apart), here: all(here), again: all(again) }));`;
  const options = { encoding: 'utf8', timeout: 60_000 } as const;
  return JSON.parse(execFileSync(process.execPath, ['--input-type=module', '-e', script], options)) as ReturnType<
    typeof lookTwice
  >;
}

it('the network sees the same in a thread of its own, asked twice at once, and lets the process end', () => {
  const { apart, here, again } = lookTwice();
  expect(apart.length).toBe(2 + 3 * 35 * 25);
  expect(apart).toEqual(here);
  expect(again).toEqual(here);
});
