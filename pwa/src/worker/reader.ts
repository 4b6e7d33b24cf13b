// Brings the books in the core to where the store is: the newest pages straight on top,
// or everything anew in the background while the old state stays on the screen.

import type { CoreCall } from './core';
import { CorePanic } from './core';
import type { CoreStatus } from './effects';
import type { RunningCore } from './running-core';
import type { Cursor, Shelf } from './shelf';

export interface ReaderPorts {
  core: RunningCore;
  shelf: Pick<Shelf, 'base' | 'pages'>;
  grown: () => void; // newer pages are in the books
  renewed: () => void; // the books have been read anew
  unreadable: () => void; // the stored base is of no use: another one is needed
  report: (what: string) => void;
}

export class Reader {
  readonly #p: ReaderPorts;
  #catching: Promise<void> | null = null;

  constructor(ports: ReaderPorts) {
    this.#p = ports;
  }

  // whole waits until the entries behind a saved state have been read too.
  async whole(): Promise<void> {
    await this.#p.core.ready;
    await this.#catching;
  }

  // catchUp reads in the background; several callers share one run. It does not reject.
  catchUp(): Promise<void> {
    this.#catching ??= this.#p.core.ready
      .then(() => this.read())
      .catch((e: unknown) => {
        if (e instanceof CorePanic) this.#p.core.broke(e);
        else this.#p.report('reading the books failed: ' + String(e));
      })
      .finally(() => {
        this.#catching = null;
      });
    return this.#catching;
  }

  // read reads now, on a core that is open but need not be ready. It throws CorePanic
  // and what the store throws.
  async read(): Promise<void> {
    const call = this.#same(),
      status = () => call('status').json as CoreStatus;
    for (let s = status(); s.behind !== undefined || s.loading; s = status()) {
      const isShort = s.behind !== undefined && s.behind.epoch === s.have.epoch && s.behind.after > 0;
      if (isShort && s.behind !== undefined) {
        if (!(await this.#feed(call, 'append', s.behind))) break;
        this.#p.grown();
        continue;
      }
      await this.#load(call, s.cursor.epoch);
      call('loaded', { epoch: s.cursor.epoch });
      this.#p.renewed();
    }
  }

  // same calls the core of now and no other: one that took its place reads for itself.
  #same(): CoreCall {
    const { core } = this.#p,
      nth = core.starts;
    return (op, args, blobs) => {
      if (core.starts !== nth) throw new CorePanic('the core that was reading is gone');
      return core.call(op, args, blobs);
    };
  }

  // load builds the books anew in the background: the stored base, if there is one,
  // and the pages after it.
  async #load(call: CoreCall, epoch: string): Promise<void> {
    const stored = await this.#p.shelf.base();
    if (stored === null || stored.epoch !== epoch) {
      await this.#feed(call, 'load', { epoch, after: 0 });
      return;
    }
    try {
      call('load_base', { epoch, base: stored.base }, [stored.state, ...stored.pages]);
    } catch (e) {
      if (!(e instanceof CorePanic)) this.#p.unreadable();
      throw e;
    }
    await pause();
    await this.#feed(call, 'load', { epoch, after: stored.base.seq });
  }

  // feed reads the stored pages after a place into the core; false when there are none.
  async #feed(call: CoreCall, op: 'append' | 'load', from: Cursor): Promise<boolean> {
    let isAny = false;
    for (let at = from; ;) {
      const pages = await this.#p.shelf.pages(at);
      const last = pages.at(-1);
      if (last === undefined) return isAny;
      for (const page of pages) {
        call(op, { epoch: page.epoch }, [page.bytes]);
        await pause();
      }
      isAny = true;
      at = { epoch: from.epoch, after: last.to };
    }
  }
}

// pause lets messages through between two pieces of a long job.
function pause(): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, 0));
}
