import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { ROOT } from '../support/run.js';

describe('the package', () => {
  it('packed and installed globally into an empty prefix gives a working paintstop', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'paintstop-pack-'));
    try {
      execFileSync('npm', ['pack', '--ignore-scripts', '--pack-destination', folder], { cwd: ROOT, stdio: 'pipe' });
      const archive = readdirSync(folder).find((name) => name.endsWith('.tgz'))!;
      const prefix = join(folder, 'prefix');
      execFileSync(
        'npm',
        ['install', '--global', '--prefix', prefix, '--no-audit', '--no-fund', join(folder, archive)],
        { stdio: 'pipe', timeout: 110_000 },
      );
      const program = join(prefix, 'bin', 'paintstop');
      const frame = join(folder, 'dark.png');
      writeFileSync(
        frame,
        await sharp({ create: { width: 700, height: 500, channels: 3, background: '#111820' } })
          .png()
          .toBuffer(),
      );
      expect(execFileSync(program, ['--version'], { encoding: 'utf8' }).trim()).toMatch(/^\d+\.\d+\.\d+$/);
      expect(
        (JSON.parse(execFileSync(program, ['frame', frame, '--json'], { encoding: 'utf8' })) as { schema: string })
          .schema,
      ).toBe('paintstop.frame/1');
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
