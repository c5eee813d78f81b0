import type { LightMap } from '../model/lightMap.js';
import type { Layer } from './separate.js';

/** The light of a frame whose lights are changed by `gainOf` each; planes of linear light, not clipped. */
export function relight(layers: readonly Layer[], gainOf: (lamps: readonly string[]) => number): LightMap['planes'] {
  const cells = layers[0]!.planes[0].length;
  const out: LightMap['planes'] = [new Float32Array(cells), new Float32Array(cells), new Float32Array(cells)];
  for (const { lamps, planes } of layers) {
    const gain = gainOf(lamps);
    planes.forEach((plane, c) => {
      const sum = out[c]!;
      for (let i = 0; i < cells; i++) sum[i]! += gain * plane[i]!;
    });
  }
  return out;
}
