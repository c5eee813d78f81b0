/** The part of the compiled LibRaw that is used, by the names of libraw-wasm 1.6. */
declare module 'libraw-wasm/dist/libraw.js' {
  export interface LibRawMetadata {
    readonly width: number;
    readonly height: number;
    readonly flip: number;
    readonly camera_make: string;
    readonly camera_model: string;
    readonly iso_speed: number;
    readonly shutter: number;
    readonly aperture: number;
    readonly focal_len: number;
    readonly timestamp: number;
    readonly filters: number;
    readonly cdesc: string;
    readonly colors: number;
    readonly is_foveon: number;
    readonly color_data: {
      readonly black: number;
      readonly maximum: number;
      readonly cam_mul: readonly number[];
      readonly raw_bps: number;
    };
    readonly lens?: {
      readonly Lens?: string;
      readonly FocalLengthIn35mmFormat?: number;
      readonly makernotes?: { readonly Lens?: string };
    };
  }

  export interface LibRawImage {
    readonly raw_height: number;
    readonly raw_width: number;
    readonly top_margin: number;
    readonly left_margin: number;
    readonly height: number;
    readonly width: number;
    readonly data: Uint16Array;
  }

  export interface LibRawHandle {
    open(bytes: Uint8Array, settings: object): void;
    metadata(full: boolean): LibRawMetadata | undefined;
    rawImageData(): LibRawImage | undefined;
    delete(): void;
  }

  export interface LibRawModule {
    readonly LibRaw: new () => LibRawHandle;
  }

  export default function load(options: {
    readonly wasmBinary?: Uint8Array;
    readonly wasmMemory?: unknown;
    readonly instantiateWasm: (imports: object, done: (instance: unknown, module: unknown) => void) => object;
    readonly print?: (text: string) => void;
    readonly printErr?: (text: string) => void;
  }): Promise<LibRawModule>;
}
