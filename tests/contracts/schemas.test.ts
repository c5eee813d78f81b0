import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { lightsSchema } from './lightsSchema.js';
import {
  arrivalSchema,
  nightSchema,
  planSchema,
  readingSchema,
  skySchema,
  whatIfSchema,
  whySchema,
} from './readingSchema.js';

/** The published schemas (JSON Schema, draft 2020-12) are those that the tests hold the output to; `vitest -u` writes them anew. Fields may be
 * added without a new schema number, so that none is forbidden. */
describe('published schemas', () => {
  it.each([
    ['frame', readingSchema],
    ['night', nightSchema],
    ['lights', lightsSchema],
    ['watch', arrivalSchema],
    ['sky', skySchema],
    ['plan', planSchema],
    ['why', whySchema],
    ['what-if', whatIfSchema],
  ])('%s', async (name, schema) => {
    const text = `${JSON.stringify(z.toJSONSchema(schema, { io: 'input' }), null, 2)}\n`;
    await expect(text).toMatchFileSnapshot(`../../docs/schemas/${name}.json`);
  });
});
