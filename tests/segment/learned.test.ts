import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { SKY_NETWORK_WEIGHTS } from '../../src/calibration/data/skyNetworkWeights.js';
import { skyNetwork, wasmEngine } from '../../src/machine/skyNetwork.js';
import { REGION, type Grid } from '../../src/model/regions.js';
import { DEFAULT_WISHES } from '../../src/model/wishes.js';
import { guidanceFor } from '../../src/pipeline/guidance.js';
import { readOneFrame } from '../../src/pipeline/readOneFrame.js';
import { encodeShot } from '../../src/scene/encode.js';
import { openScene } from '../../src/scene/shoot.js';
import { widerScene } from '../../src/scene/widerScene.js';
import { skyAbove } from '../../src/segment/drawnSky.js';
import { CHANNELS, lookOf } from '../../src/segment/learned/look.js';
import { buildNetwork } from '../../src/segment/learned/network.js';
import { readWeights } from '../../src/segment/learned/weights.js';

interface Reference {
  readonly width: number;
  readonly height: number;
  readonly every: number;
  readonly logOdds: readonly [readonly number[], readonly number[], readonly number[]];
}

const weights = (): Uint8Array => new Uint8Array(Buffer.from(SKY_NETWORK_WEIGHTS, 'base64'));

describe('the network for sky and ground', () => {
  // Outside: PyTorch's answer to the same weights and the same look (fixtures/truth, written by scripts/learn/model.py).
  it('answers as PyTorch does, within a thousandth', async () => {
    const truth = JSON.parse(
      readFileSync(new URL('../../fixtures/truth/sky-network.json', import.meta.url), 'utf8'),
    ) as Reference;
    const { width, height, every } = truth;
    const values = new Float32Array(width * height * CHANNELS);
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++)
        for (let c = 0; c < CHANNELS; c++)
          values[(y * width + x) * CHANNELS + c] =
            Math.sin(0.37 * x * (1 + (c % 3)) + 0.23 * y * (1 + (c % 2)) + c) * 0.9;
    const sight = await (await skyNetwork()).look({ width, height, values });
    for (const [plane, wanted] of [
      [sight.sky, truth.logOdds[0]],
      [sight.source, truth.logOdds[1]],
      [sight.painted, truth.logOdds[2]],
    ] as const) {
      const apart = wanted.map((value, n) => Math.abs(value - plane[n * every]!));
      expect(Math.max(...apart)).toBeLessThan(1e-3);
    }
  });

  it('keeps within 600 thousand parameters and 1.5 MB', () => {
    const parameters = [...readWeights(weights()).values()].reduce(
      (sum, { kernel, bias }) => sum + kernel.length + (bias?.length ?? 0),
      0,
    );
    expect(parameters).toBeLessThanOrEqual(600_000);
    expect(SKY_NETWORK_WEIGHTS.length).toBeLessThan(1.5e6);
  });

  it('finds sky and paint of wider scenes that it has not seen', async () => {
    const overlaps: number[] = [];
    const paints: number[] = [];
    for (let seed = 700_001; seed <= 700_006; seed++) {
      const spec = widerScene(seed);
      const shot = openScene(spec).shoot(spec.settings, spec.lamps);
      const bytes = await encodeShot(shot, 'jpeg');
      const { regions, reading } = await readOneFrame(bytes, 'scene.jpg', {}, [], DEFAULT_WISHES, {
        network: skyNetwork,
      });
      expect(['learned', 'classical']).toContain(reading.segmentation.by);
      const overlap = (region: number): number | null => {
        let both = 0;
        let either = 0;
        shot.truth.mask.forEach((value, i) => {
          const own = regions.fineMask[i] === region;
          if (own && value === region) both++;
          if (own || value === region) either++;
        });
        return either === 0 ? null : both / either;
      };
      overlaps.push(overlap(REGION.sky) ?? 1);
      const painted = shot.truth.mask.reduce((sum, value) => sum + (value === REGION.painted ? 1 : 0), 0);
      if (painted > 0.01 * shot.truth.mask.length) paints.push(overlap(REGION.painted) ?? 0);
    }
    overlaps.sort((a, b) => a - b);
    expect(overlaps[3]!).toBeGreaterThan(0.95);
    paints.sort((a, b) => a - b);
    expect(paints.length).toBeGreaterThan(2);
    expect(paints[paints.length >> 1]!).toBeGreaterThan(0.7);
  });

  it('refuses weights that are cut short, in words', async () => {
    const tf = await wasmEngine();
    for (const end of [0, 6, 400, 20_000])
      expect(() => buildNetwork(tf, weights().subarray(0, end))).toThrow(/weights of the network are damaged/);
  });

  it('is done without, and said to be, where it cannot be opened', async () => {
    const { guidance, warnings } = await guidanceFor(grid(60, 40), () => Promise.reject(new Error('not asked for')), {
      network: () => Promise.reject(new Error('no WebAssembly here')),
    });
    expect(guidance).toEqual({});
    expect(warnings).toEqual([expect.objectContaining({ code: 'no-network' })]);
  });

  it('is given finite numbers of a black frame, and of a white one', () => {
    for (const level of [0, 1]) {
      const look = lookOf(grid(900, 500, level));
      expect(look.width).toBe(384);
      expect(look.values.every(Number.isFinite)).toBe(true);
    }
  });
});

describe('sky drawn by hand', () => {
  it('is all above the line, which goes on level', () => {
    const sky = skyAbove(
      [
        [100, 50],
        [300, 150],
      ],
      grid(40, 20, 0, 10),
    );
    const first = (x: number): number => Array.from({ length: 20 }, (_, y) => sky[y * 40 + x]!).indexOf(0);
    expect(first(0)).toBe(5);
    expect(first(20)).toBe(10);
    expect(first(39)).toBe(15);
  });
});

function grid(width: number, height: number, level = 0, blockPx = 1): Grid {
  const plane = (): Float32Array => new Float32Array(width * height).fill(level);
  return { width, height, blockPx, red: plane(), green: plane(), blue: plane(), luminance: plane() };
}
