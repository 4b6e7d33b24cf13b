// Whether the server is there, for a phone that nobody is signed in on: its sync has
// nobody to speak for it and rests.

import type { Status } from '../bridge/api';
import type { Door } from './account';

const answeredMs = 60_000; // between two rings while somebody answers
const silentMs = 10_000; // and while nobody does

export interface DoorbellPorts {
  ask: () => Promise<Door | null>;
  isNeeded: () => boolean; // nobody is signed in, and somebody looks
  changed: () => void; // heard may be another
  later: (run: () => void, ms: number) => unknown;
}

export class Doorbell {
  readonly #p: DoorbellPorts;
  #heard: Status['online'] = 'unknown';
  #ringing: Promise<Door | null> | null = null;
  #rings = 0; // the newest sets the time of the next

  constructor(ports: DoorbellPorts) {
    this.#p = ports;
  }

  // heard is what the last ring has shown.
  get heard(): Status['online'] {
    return this.#heard;
  }

  // ring asks now, and from then on again and again for as long as it is needed. null
  // is no answer.
  ring(): Promise<Door | null> {
    return (this.#ringing ??= this.#ask().finally(() => {
      this.#ringing = null;
    }));
  }

  async #ask(): Promise<Door | null> {
    const door = await this.#p.ask();
    const was = this.#heard;
    this.#heard = door === null ? 'no' : 'yes';
    if (this.#heard !== was) this.#p.changed();
    const n = ++this.#rings;
    this.#p.later(
      () => {
        if (n === this.#rings && this.#p.isNeeded()) void this.ring();
      },
      door === null ? silentMs : answeredMs,
    );
    return door;
  }
}
