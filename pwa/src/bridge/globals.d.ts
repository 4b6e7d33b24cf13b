// Put in by build.mjs.
declare const __VERSION__: string; // of this page
declare const __WORKER__: string; // address of the worker's script
