// Keeps trained weights in the program: node scripts/learn/keep.mjs RUN.bin RUN.reference.json
import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';

const [weights, reference] = process.argv.slice(2);
const bytes = readFileSync(weights);
const start = 4 + bytes.readUInt32LE(0);
const { layers: _, ...origin } = JSON.parse(bytes.subarray(4, start).toString());
const parameters = (bytes.length - start) / 2;
writeFileSync(
  'src/calibration/data/skyNetworkWeights.ts',
  `/**
 * Weights of the network that tells sky, sources and painted ground: ${String(parameters)} parameters, 16-bit floats, base64. Origin: our own training, scripts/learn
 * (${JSON.stringify(origin)}); what it learned from is told in scripts/learn/README.md.
 */
export const SKY_NETWORK_WEIGHTS =
  '${bytes.toString('base64')}';
`,
);
mkdirSync('fixtures/truth', { recursive: true });
copyFileSync(reference, 'fixtures/truth/sky-network.json');
