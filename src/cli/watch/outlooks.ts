import type { FrameRecord } from '../../model/night.js';
import type { Whereabouts } from '../../pipeline/frameTime.js';
import { outlookOf, setupCamera, type SetupCamera } from '../../pipeline/outlook.js';

/** A sky under cloud is not searched for in frame after frame. */
const MOST_SEARCHES = 3;

/** What is left of the night for the setup in hand; its place among the stars is searched for once. */
export class Outlooks {
  private camera: SetupCamera | null = null;
  private searches = 0;

  constructor(private readonly where: Whereabouts) {}

  of(record: FrameRecord, newSetup: boolean): string | null {
    if (newSetup) {
      this.camera = null;
      this.searches = 0;
    }
    const maySearch = this.searches < MOST_SEARCHES;
    if (this.camera === null && maySearch) this.searches++;
    this.camera = setupCamera(record, this.camera, maySearch, this.where);
    return outlookOf(record, this.camera?.camera ?? null, this.where, 'time left')?.says ?? null;
  }
}
