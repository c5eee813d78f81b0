/** Coverage (0 to 1) of a frame by things drawn in front of the sky, with soft edges. */
export class Coverage {
  readonly alpha: Float32Array;

  constructor(
    readonly width: number,
    readonly height: number,
  ) {
    this.alpha = new Float32Array(width * height);
  }

  /** A limb: a line whose half width runs from `r0` to `r1`. */
  limb(x0: number, y0: number, r0: number, x1: number, y1: number, r1: number): void {
    const reach = Math.max(r0, r1) + 1;
    const dx = x1 - x0;
    const dy = y1 - y0;
    const length2 = dx * dx + dy * dy || 1;
    this.eachPixel(
      Math.min(x0, x1) - reach,
      Math.min(y0, y1) - reach,
      Math.max(x0, x1) + reach,
      Math.max(y0, y1) + reach,
      (x, y, i) => {
        const t = Math.max(0, Math.min(1, ((x - x0) * dx + (y - y0) * dy) / length2));
        const distance = Math.hypot(x - x0 - t * dx, y - y0 - t * dy);
        this.cover(i, r0 + (r1 - r0) * t - distance + 0.5);
      },
    );
  }

  ellipse(cx: number, cy: number, rx: number, ry: number): void {
    this.eachPixel(cx - rx - 1, cy - ry - 1, cx + rx + 1, cy + ry + 1, (x, y, i) => {
      const distance = Math.hypot((x - cx) / rx, (y - cy) / ry);
      this.cover(i, (1 - distance) * Math.min(rx, ry) + 0.5);
    });
  }

  /** Everything between two rows given for each column. */
  columns(topOf: (x: number) => number, bottomOf: (x: number) => number, x0: number, x1: number): void {
    for (let x = Math.max(0, Math.floor(x0)); x < Math.min(this.width, Math.ceil(x1)); x++) {
      const top = topOf(x);
      const bottom = Math.min(this.height, bottomOf(x));
      for (let y = Math.max(0, Math.floor(top)); y < bottom; y++)
        this.cover(y * this.width + x, Math.min(y + 1 - top, bottom - y));
    }
  }

  /** Cuts an opening again. */
  cut(cx: number, cy: number, rx: number, ry: number, square: boolean): void {
    this.eachPixel(cx - rx - 1, cy - ry - 1, cx + rx + 1, cy + ry + 1, (x, y, i) => {
      const ax = Math.abs(x - cx) / rx;
      const ay = Math.abs(y - cy) / ry;
      const distance = square && y > cy ? Math.max(ax, ay) : Math.hypot(ax, ay);
      const inside = Math.max(0, Math.min(1, (1 - distance) * Math.min(rx, ry) + 0.5));
      this.alpha[i] = Math.min(this.alpha[i]!, 1 - inside);
    });
  }

  private cover(i: number, amount: number): void {
    const value = Math.max(0, Math.min(1, amount));
    if (value > this.alpha[i]!) this.alpha[i] = value;
  }

  private eachPixel(
    x0: number,
    y0: number,
    x1: number,
    y1: number,
    visit: (x: number, y: number, i: number) => void,
  ): void {
    const right = Math.min(this.width - 1, Math.ceil(x1));
    const bottom = Math.min(this.height - 1, Math.ceil(y1));
    for (let y = Math.max(0, Math.floor(y0)); y <= bottom; y++)
      for (let x = Math.max(0, Math.floor(x0)); x <= right; x++) visit(x, y, y * this.width + x);
  }
}
