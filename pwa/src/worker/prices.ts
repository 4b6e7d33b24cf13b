// Prices leave this phone with the right to see them (scope.ts says when that is): out of
// the store, and with the core that knew them.

import type { RunningCore } from './running-core';
import { isTooMuch, type Scope, scopeOf } from './scope';
import type { Seats } from './seats';
import type { Contents, Shelf } from './shelf';

const againMs = 2_000; // between two tries

export interface PricesPorts {
  core: RunningCore;
  shelf: Pick<Shelf, 'shed'>;
  seats: Seats;
  read: () => Promise<Contents>;
  report: (what: string) => void;
}

export class Prices {
  readonly #p: PricesPorts;
  #scope: Scope = 'plain'; // of the books that the core holds

  constructor(ports: PricesPorts) {
    this.#p = ports;
  }

  // before gives what a core may be opened with. The core must run.
  async before(found: Contents): Promise<Contents> {
    const { seats, read } = this.#p,
      isPriced = isTooMuch(seats.at, found.base, found.cursor);
    if (isPriced) await this.#cut();
    this.#scope = scopeOf(seats.at);
    return isPriced ? read() : found;
  }

  // follow gives what this phone may hold by who is here now. What it may not hold any
  // more goes.
  follow(): Scope {
    const was = this.#scope,
      scope = (this.#scope = scopeOf(this.#p.seats.at));
    if (was === 'full' && scope === 'plain') void this.#leave();
    return scope;
  }

  async #leave(): Promise<void> {
    const { core, report } = this.#p;
    try {
      await core.ready.catch(() => undefined); // books that cannot be read are cut all the same
      await this.#cut();
      await core.renew();
    } catch (e) {
      report('prices are still here: ' + String(e));
      setTimeout(() => {
        if (this.#scope === 'plain') void this.#leave();
      }, againMs);
    }
  }

  #cut(): Promise<void> {
    return this.#p.shelf.shed((blobs) => this.#p.core.call('plain', {}, blobs).blobs);
  }
}
