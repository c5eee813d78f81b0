import { z } from 'zod';

const seconds = z.number().min(0.1).max(3600);
const metres = z.number().min(0.1).max(1000);
const power = z.number().min(0).max(1).describe('part of full power; 0 is off');
const powers = z.array(z.number().gt(0).max(1)).min(1).describe('the parts of full power that the lamp has');
const common = { metres: metres.optional(), power: power.optional(), powers: powers.optional() };

const lamp = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('held'), seconds: seconds.optional(), ...common }),
  z.strictObject({ kind: z.literal('stand'), ...common }),
]);

const change = z
  .object({ from: z.union([z.string(), z.number()]).describe('name of the first frame') })
  .catchall(z.strictObject({ seconds: seconds.optional(), metres: metres.optional(), power: power.optional() }));

/** A lights file, once YAML is read. That a change names lamps of the file is beyond a schema. */
export const lightsSchema = z.strictObject({
  lamps: z.record(z.string().min(1).max(40), lamp).nullish(),
  changes: z.array(change).nullish(),
});
