import { describe, expect, it } from 'vitest';
import { paintstop } from '../support/run.js';

describe('paintstop demo', () => {
  it('reads a frame, follows the advice, shoots again, and comes out balanced', () => {
    const ran = paintstop(['demo']);
    expect(ran.status).toBe(0);
    expect(ran.out).toContain('== Try 2');
    expect(ran.out).toContain('The advice was followed and the next frame came out balanced.');
  });
});
