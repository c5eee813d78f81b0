import { buildNetwork, type Engine, type SkyNetwork } from '../segment/learned/network.js';

export type { Engine, Sight, SkyNetwork } from '../segment/learned/network.js';
export type { Look } from '../segment/learned/look.js';

/** The trained network on a TensorFlow.js whose backend is ready. The weights are read at the first call, not before. */
export async function openNetwork(tf: Engine): Promise<SkyNetwork> {
  const { SKY_NETWORK_WEIGHTS } = await import('../calibration/data/skyNetworkWeights.js');
  return buildNetwork(tf, fromBase64(SKY_NETWORK_WEIGHTS));
}

function fromBase64(text: string): Uint8Array {
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = letters.charCodeAt(i);
  return bytes;
}
