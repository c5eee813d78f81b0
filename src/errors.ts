/** Everything the machine can do wrong, in one place. Exit status: 1 nothing could be read, 2 wrong use. */
export const ERROR_CATALOGUE = {
  'not-found': { remedy: 'check the path', exitStatus: 1 },
  'not-a-file': { remedy: 'give a frame; a folder is read with `paintstop night`', exitStatus: 1 },
  'no-permission': { remedy: 'give yourself permission to read it, or copy it', exitStatus: 1 },
  'empty-file': { remedy: 'copy it again from the card', exitStatus: 1 },
  'not-a-picture': { remedy: 'give a JPEG, TIFF, PNG or camera raw file', exitStatus: 1 },
  'camera-raw': { remedy: 'give the JPEG of the pair, or a TIFF developed from it', exitStatus: 1 },
  'damaged-raw': { remedy: 'copy it again from the card, or give the JPEG of the pair', exitStatus: 1 },
  'no-mosaic': { remedy: "give the camera's own raw file, or the JPEG of the pair", exitStatus: 1 },
  'too-slow': { remedy: 'give the JPEG of the pair, or a TIFF developed from it', exitStatus: 1 },
  'unsupported-picture': { remedy: 'export it as 8 or 16-bit JPEG, TIFF or PNG', exitStatus: 1 },
  'cut-short': { remedy: 'copy it again from the card', exitStatus: 1 },
  damaged: { remedy: 'copy it again from the card, or open and save it in a picture editor', exitStatus: 1 },
  'too-large': { remedy: 'give a picture of at most 250 megapixels', exitStatus: 1 },
  'lights-file': { remedy: 'see paintstop lights --example', exitStatus: 2 },
  'sky-mask': {
    remedy: 'draw white on the sky and black on the ground, on a copy of the upright frame',
    exitStatus: 1,
  },
  'cannot-write': { remedy: 'give a folder you may write to, and a name that is not taken', exitStatus: 2 },
  'wrong-use': { remedy: 'see paintstop --help', exitStatus: 2 },
} as const;

export type ErrorCode = keyof typeof ERROR_CATALOGUE;

/** An expected failure. `message` is one sentence that names the file and what is wrong with it, then what to do. */
export class PaintstopError extends Error {
  readonly code: ErrorCode;

  constructor(code: ErrorCode, sentence: string, remedy: string = ERROR_CATALOGUE[code].remedy) {
    super(printable(`${sentence}; ${remedy}.`));
    this.name = 'PaintstopError';
    this.code = code;
  }

  /** The same failure, told by another thread. */
  static retold(code: ErrorCode, message: string): PaintstopError {
    const error = new PaintstopError(code, '');
    error.message = message;
    return error;
  }

  get exitStatus(): 1 | 2 {
    return ERROR_CATALOGUE[this.code].exitStatus;
  }
}

/** Without control and direction characters: a file's name must not be able to write to the terminal. */
export function printable(text: string): string {
  return text.replace(/\p{C}+/gu, ' ');
}
