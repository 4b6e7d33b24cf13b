// The core as everybody else sees it: always there. One that has panicked is replaced
// by a new one, opened from the store.

import { ProblemError } from '../shared/problem';
import type { CoreCall, CoreHost } from './core';
import { CorePanic } from './core';
import type { Contents } from './shelf';

const panicsMax = 3; // within panicWindowMs; then calls fail instead of restarting
const panicWindowMs = 60_000;

export interface RunningCorePorts {
  host: CoreHost;
  read: () => Promise<Contents>; // of the store, for the core after a panic
  open: (contents: Contents) => Promise<void>; // gives them to a core that has just started
  gone: () => void; // the core that was open is no more
  monoMs: () => number;
  report: (what: string) => void;
}

export class RunningCore {
  readonly #p: RunningCorePorts;
  #ready: Promise<void>;
  #panics: number[] = []; // when, of late
  #starts = 0;
  #isStarting = false;

  // contents are what the first core is opened with; it starts once they are there.
  constructor(ports: RunningCorePorts, contents: Promise<Contents>) {
    this.#p = ports;
    this.#ready = contents.then(() => this.#start(contents));
  }

  // ready is when the core of now has been opened. It rejects with what kept it from
  // that; with "core_broken" once cores have stopped too often.
  get ready(): Promise<void> {
    return this.#ready;
  }

  // starts counts the cores so far: what one has prepared the next does not know.
  get starts(): number {
    return this.#starts;
  }

  get isRunning(): boolean {
    return this.#p.host.isRunning;
  }

  // call runs an op at once. It throws CorePanic if there is no core or it panics: hand
  // that to broke.
  get call(): CoreCall {
    return this.#p.host.call;
  }

  // run runs an op when the core is ready; after a panic once more on the new one.
  async run(op: string, args: object = {}): Promise<unknown> {
    await this.#ready;
    try {
      return this.call(op, args).json;
    } catch (e) {
      if (!(e instanceof CorePanic)) throw e;
      this.broke(e);
      await this.#ready;
      try {
        return this.call(op, args).json;
      } catch (again) {
        if (again instanceof CorePanic) this.broke(again);
        throw again;
      }
    }
  }

  // renew puts a new core, opened from the store, in the place of the one that runs. What
  // that knew goes with it.
  renew(): Promise<void> {
    this.#p.gone();
    this.#ready = this.#start(this.#p.read());
    this.#ready.catch((e: unknown) => this.#p.report('renewal failed: ' + String(e)));
    return this.#ready;
  }

  // broke starts a new core after a panic; whatever else went wrong is only reported.
  broke(e: unknown): void {
    if (!(e instanceof CorePanic)) {
      this.#p.report('step failed: ' + String(e));
      return;
    }
    if (this.isRunning || this.#isStarting) return; // a new one is there already, or on its way
    const now = this.#p.monoMs();
    this.#panics = [...this.#panics.filter((at) => now - at < panicWindowMs), now];
    this.#p.report('core panicked: ' + e.message);
    this.#p.gone();
    if (this.#panics.length > panicsMax) {
      this.#ready = Promise.reject(new ProblemError('core_broken', 'the core stopped too often', e.message));
      this.#ready.catch(() => undefined);
      return;
    }
    this.#ready = this.#start(this.#p.read());
    this.#ready.catch((again: unknown) => this.#p.report('restart failed: ' + String(again)));
  }

  async #start(contents: Promise<Contents>): Promise<void> {
    this.#isStarting = true;
    const isUp = this.#p.host
      .start()
      .then(() => {
        this.#starts++;
      })
      .finally(() => {
        this.#isStarting = false;
      });
    const [c] = await Promise.all([contents, isUp]);
    await this.#p.open(c);
  }
}
