// Put in by build.mjs.
declare const __VERSION__: string; // of this worker
declare const __CORE__: string; // address of the compiled core; changes with its bytes
declare const __SUMS__: string; // address of the compiled calculations

// Go's own loader, taken from the toolchain that compiled the core.
declare module 'go-loader';
declare class Go {
  importObject: WebAssembly.Imports;
  run(instance: WebAssembly.Instance): Promise<void>;
}
