import { PNG } from 'pngjs';
import { GLYPH_ADVANCE, glyphRows } from './glyphs.js';

/** Light grey lines with a black rim read on any picture, in print and without colour. */
const INK = [236, 236, 236] as const;
const RIM = [12, 12, 12] as const;

/** A picture to draw on: RGBA, row-major. */
export class Sheet {
  readonly png: PNG;

  constructor(
    readonly width: number,
    readonly height: number,
  ) {
    this.png = new PNG({ width, height });
    this.png.data.fill(0);
    for (let i = 3; i < this.png.data.length; i += 4) this.png.data[i] = 255;
  }

  dot(x: number, y: number, colour: readonly [number, number, number]): void {
    const px = Math.round(x);
    const py = Math.round(y);
    if (px < 0 || py < 0 || px >= this.width || py >= this.height) return;
    const at = (py * this.width + px) * 4;
    this.png.data[at] = colour[0];
    this.png.data[at + 1] = colour[1];
    this.png.data[at + 2] = colour[2];
  }

  /** A rimmed spot of ink: dark ring first, so that neighbouring spots of one line keep their ink. */
  spots(places: readonly { x: number; y: number }[], size: number): void {
    for (const [colour, reach] of [
      [RIM, size + 1],
      [INK, size],
    ] as const)
      for (const { x, y } of places)
        for (let dy = -reach; dy <= reach; dy++)
          for (let dx = -reach; dx <= reach; dx++) this.dot(x + dx, y + dy, colour);
  }

  /** A closed or open path drawn as a repeated pattern of drawn and skipped lengths (pixels). */
  path(points: readonly { x: number; y: number }[], pattern: readonly number[], size = 0): void {
    const drawn: { x: number; y: number }[] = [];
    const period = pattern.reduce((sum, part) => sum + part, 0);
    let walked = 0;
    for (let n = 1; n < points.length; n++) {
      const from = points[n - 1]!;
      const to = points[n]!;
      const length = Math.hypot(to.x - from.x, to.y - from.y);
      for (let step = 0; step < length; step++, walked++)
        if (isDrawn(walked % period, pattern))
          drawn.push({ x: from.x + ((to.x - from.x) * step) / length, y: from.y + ((to.y - from.y) * step) / length });
    }
    this.spots(drawn, size);
  }

  text(x: number, y: number, words: string, scale: number): void {
    const dots: { x: number; y: number }[] = [];
    Array.from(words).forEach((letter, n) => {
      glyphRows(letter)?.forEach((row, gy) => {
        for (let gx = 0; gx < 5; gx++)
          if ((row >> (4 - gx)) & 1)
            for (let sy = 0; sy < scale; sy++)
              for (let sx = 0; sx < scale; sx++)
                dots.push({ x: x + (n * GLYPH_ADVANCE + gx) * scale + sx, y: y + gy * scale + sy });
      });
    });
    this.spots(dots, 0);
  }

  bytes(): Buffer {
    return PNG.sync.write(this.png, { colorType: 2, inputHasAlpha: true, deflateLevel: 6 });
  }
}

function isDrawn(place: number, pattern: readonly number[]): boolean {
  let left = place;
  for (let n = 0; n < pattern.length; n++) {
    if (left < pattern[n]!) return n % 2 === 0;
    left -= pattern[n]!;
  }
  return false;
}
