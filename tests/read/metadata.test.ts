import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { readMetadata } from '../../src/read/metadata.js';
import { exifBlock, withExif, type Entry } from '../support/bytes.js';

let plain: Buffer;
beforeAll(async () => {
  plain = await sharp({ create: { width: 600, height: 400, channels: 3, background: '#102030' } })
    .jpeg()
    .toBuffer();
});

const seconds = (tag: number, numerator: number, denominator: number): Entry => ({
  tag,
  type: 'rational',
  value: [numerator, denominator],
});

async function settingsOf(exif: readonly Entry[], ifd0: readonly Entry[] = [], gps: readonly Entry[] = []) {
  return readMetadata(withExif(plain, exifBlock(ifd0, exif, gps)), 600, 400);
}

// Tag numbers and meanings: CIPA DC-008 (Exif 2.32 / 3.0), as listed in ExifTool 12.57's tables.
describe('settings from Exif', () => {
  it('reads the plain case', async () => {
    const { settings } = await settingsOf(
      [
        seconds(0x829a, 30, 1),
        seconds(0x829d, 28, 10),
        { tag: 0x8827, type: 'short', value: [1600] },
        { tag: 0x9003, type: 'ascii', value: '2026:07:14 23:10:00' },
        { tag: 0x9011, type: 'ascii', value: '+02:00' },
        { tag: 0x9291, type: 'ascii', value: '25' },
        seconds(0x920a, 14, 1),
        { tag: 0xa434, type: 'ascii', value: 'Tarn 14 mm' },
      ],
      [
        { tag: 0x010f, type: 'ascii', value: 'Moorland Instruments' },
        { tag: 0x0110, type: 'ascii', value: 'Moorland Instruments Tarn 1' },
      ],
    );
    expect(settings).toMatchObject({
      iso: 1600,
      shutterSeconds: 30,
      aperture: 2.8,
      focalMm: 14,
      takenAt: '2026-07-14T23:10:00.25+02:00',
      camera: 'Moorland Instruments Tarn 1',
      lens: 'Tarn 14 mm',
    });
  });

  it('looks behind the 65535 ceiling of ISO', async () => {
    const { settings } = await settingsOf([
      { tag: 0x8827, type: 'short', value: [65535] },
      { tag: 0x8832, type: 'long', value: [102400] },
    ]);
    expect(settings.iso).toBe(102400);
  });

  it('takes ShutterSpeedValue when ExposureTime is missing: t = 2^-Tv', async () => {
    expect(
      (await settingsOf([{ tag: 0x9201, type: 'srational', value: [-4906891, 1000000] }])).settings.shutterSeconds,
    ).toBe(30);
    expect((await settingsOf([{ tag: 0x9201, type: 'srational', value: [6, 1] }])).settings.shutterSeconds).toBeCloseTo(
      1 / 64,
      5,
    );
  });

  it('a manual lens writes f/0: not known', async () => {
    const { settings } = await settingsOf([seconds(0x829d, 0, 1), seconds(0x920a, 0, 1)]);
    expect(settings.aperture).toBeNull();
    expect(settings.focalMm).toBeNull();
  });

  it('no zone stays no zone', async () => {
    expect(
      (
        await settingsOf([
          { tag: 0x9003, type: 'ascii', value: '2026:07:14 23:10:00' },
          { tag: 0x9011, type: 'ascii', value: '   :  ' },
        ])
      ).settings.takenAt,
    ).toBe('2026-07-14T23:10:00');
    expect(
      (await settingsOf([{ tag: 0x9003, type: 'ascii', value: '0000:00:00 00:00:00' }])).settings.takenAt,
    ).toBeNull();
  });

  it('GPS, south and west negative', async () => {
    const { settings } = await settingsOf(
      [],
      [],
      [
        { tag: 1, type: 'ascii', value: 'S' },
        { tag: 2, type: 'rational', value: [33, 1, 30, 1, 36, 1] },
        { tag: 3, type: 'ascii', value: 'W' },
        { tag: 4, type: 'rational', value: [2, 1, 36, 1, 0, 1] },
      ],
    );
    expect(settings.position).toEqual({ latitudeDeg: -33.51, longitudeDeg: -2.6 });
  });

  it('pixel pitch: 25400 / resolution (inch), carried to a resized file, and from the 35 mm equivalent', async () => {
    // 6000 px over 36 mm: 4233.33 px per inch, 6.0 um.
    const plane: Entry[] = [seconds(0xa20e, 4233333, 1000), { tag: 0xa210, type: 'short', value: [2] }];
    expect(
      (await settingsOf([...plane, { tag: 0xa002, type: 'long', value: [600] }])).settings.pixelPitchUm,
    ).toBeCloseTo(6, 3);
    const resized = await settingsOf([
      ...plane,
      { tag: 0xa002, type: 'long', value: [6000] },
      { tag: 0xa003, type: 'long', value: [4000] },
    ]);
    expect(resized.settings.pixelPitchUm).toBeCloseTo(60, 1);
    const equivalent = await settingsOf([seconds(0x920a, 10, 1), { tag: 0xa405, type: 'short', value: [15] }]);
    // Diagonal 43.267 mm x 10 / 15 over the file's 721 px.
    expect(equivalent.settings.pixelPitchUm).toBeCloseTo(((43.2666 * 10) / 15 / 721.11) * 1000, 1);
    const rewritten = await settingsOf([
      ...plane,
      { tag: 0xa002, type: 'long', value: [1200] },
      seconds(0x920a, 20, 1),
      { tag: 0xa405, type: 'short', value: [20] },
    ]);
    expect(rewritten.settings.pixelPitchUm).toBeCloseTo(60, 0);
  });

  it('warns of composites (CompositeImage 2 and 3) and of nothing else', async () => {
    for (const [value, count] of [
      [0, 0],
      [1, 0],
      [2, 1],
      [3, 1],
    ] as const)
      expect((await settingsOf([{ tag: 0xa460, type: 'short', value: [value] }])).warnings).toHaveLength(count);
  });

  it('takes figures that no camera reaches for damage: not told', async () => {
    const { settings } = await settingsOf([
      seconds(0x829a, 1, 4_294_967_295),
      seconds(0x829d, 1, 4_294_967_295),
      seconds(0x920a, 1, 1000),
      { tag: 0x9003, type: 'ascii', value: '2026:07:14 23:10:00' },
      { tag: 0x9011, type: 'ascii', value: '+99:99' },
    ]);
    expect(settings).toMatchObject({ shutterSeconds: null, aperture: null, focalMm: null });
    expect(settings.takenAt).toBe('2026-07-14T23:10:00');
  });

  it('does not let a file write to the terminal', async () => {
    const { settings } = await settingsOf([], [{ tag: 0x0110, type: 'ascii', value: 'Tarn\u001b[31m\u0007 1' }]);
    expect(settings.camera).toBe('Tarn [31m 1');
  });

  it('damaged Exif is missing Exif', async () => {
    const block = exifBlock([], [seconds(0x829a, 30, 1)]);
    block.fill(0xff, 10);
    const { settings } = await readMetadata(withExif(plain, block), 600, 400);
    expect(settings.shutterSeconds).toBeNull();
  });
});
