import load, { type LibRawModule } from 'libraw-wasm/dist/libraw.js';

/** The WebAssembly object of the JavaScript standard, as far as it is used here. */
interface Compiled {
  instantiate(module: unknown, imports: object): Promise<unknown>;
  Memory: new (limits: { initial: number; maximum: number; shared: boolean }) => unknown;
}

/** 64-KiB pages of memory at the start, and at most (1.5 GB): a hostile file cannot take more. */
const FIRST_PAGES = 4096;
const MOST_PAGES = 24576;

/** An instance of LibRaw from its compiled module, silent, with memory of its own. */
export async function loadLibRaw(module: unknown): Promise<LibRawModule> {
  const wasm = (globalThis as unknown as { WebAssembly: Compiled }).WebAssembly;
  return load({
    wasmMemory: new wasm.Memory({ initial: FIRST_PAGES, maximum: MOST_PAGES, shared: true }),
    instantiateWasm: (imports, done) => {
      void wasm.instantiate(module, imports).then((instance) => {
        done(instance, module);
      });
      return {};
    },
    print: () => undefined,
    printErr: () => undefined,
  });
}
