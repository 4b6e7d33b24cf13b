// Holds the compiled core: loads it once, calls it, and makes a new instance when
// one has panicked.

import 'go-loader';
import { ProblemError } from '../shared/problem';
import type { Problem } from '../bridge/api';

// CorePanic means that the instance is gone and the books must be opened again
// from the store.
export class CorePanic extends Error {
  override name = 'CorePanic';
}

export interface CoreAnswer {
  json: unknown;
  blobs: Uint8Array[];
}

// CoreCall runs one op of the core to its end.
export type CoreCall = (op: string, args?: object, blobs?: readonly Uint8Array[]) => CoreAnswer;

type RawCall = (
  op: string,
  json: string,
  ...blobs: Uint8Array[]
) => { json: string; blobs: Uint8Array[] } | { problem: string } | { panic: string };

export class CoreHost {
  #module: Promise<WebAssembly.Module> | null = null;
  #raw: RawCall | null = null;
  readonly #now: () => object;
  readonly #url: string;
  readonly #name: string;

  // now gives the clocks that go with every call; url is the compiled program, name
  // the function that it puts into the global scope.
  constructor(now: () => object, url: string, name: string) {
    this.#now = now;
    this.#url = url;
    this.#name = name;
  }

  // start makes a fresh instance; the compiled module is kept for all of them.
  async start(): Promise<void> {
    this.#raw = null;
    this.#module ??= compile(this.#url);
    let module: WebAssembly.Module;
    try {
      module = await this.#module;
    } catch (e) {
      this.#module = null; // the next start tries to load it again
      throw e;
    }
    const go = new Go();
    const instance = await WebAssembly.instantiate(module, go.importObject);
    const isGone = () => {
      if (this.#raw === raw) this.#raw = null;
    };
    go.run(instance).then(isGone, isGone);
    const raw = (globalThis as unknown as Record<string, RawCall | undefined>)[this.#name] ?? null;
    this.#raw = raw;
  }

  get isRunning(): boolean {
    return this.#raw !== null;
  }

  readonly call: CoreCall = (op, args = {}, blobs = []) => {
    const raw = this.#raw;
    if (raw === null) throw new CorePanic('the core is not running');
    let out: ReturnType<RawCall>;
    try {
      out = raw(op, JSON.stringify({ ...args, now: this.#now() }), ...blobs);
    } catch (e) {
      this.#raw = null;
      throw new CorePanic(String(e));
    }
    if (out === undefined || out === null) {
      // Go's exit leaves nothing behind
      this.#raw = null;
      throw new CorePanic('the core stopped during ' + op);
    }
    if ('panic' in out) {
      this.#raw = null;
      throw new CorePanic(`${op}: ${out.panic}`);
    }
    if ('problem' in out) {
      const p = JSON.parse(out.problem) as Problem;
      throw new ProblemError(p.code, p.title, p.detail);
    }
    return { json: out.json === '' ? null : JSON.parse(out.json), blobs: out.blobs };
  };
}

// compile streams, so that the browser can keep the machine code beside the file.
async function compile(url: string): Promise<WebAssembly.Module> {
  try {
    return await WebAssembly.compileStreaming(fetch(url));
  } catch {
    const answer = await fetch(url); // a server or proxy that spoils the content type
    return WebAssembly.compile(await answer.arrayBuffer());
  }
}
