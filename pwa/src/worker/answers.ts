// The views that the page asks for: from the core; before it is up from what was kept of
// the last time; from the server, when it is asked for, what reaches behind this phone's
// window.

import type { ViewName, Views } from '../bridge/api';
import type { Choices } from './choices';
import { CorePanic } from './core';
import { askServer } from './history';
import type { Reader } from './reader';
import type { RunningCore } from './running-core';
import type { Seats } from './seats';
import type { Tokens } from './session';

const keptMax = 12; // views kept for the next start

export interface AnswersPorts {
  core: RunningCore;
  reader: Reader;
  seats: Seats;
  tokens: Tokens;
  choices: Choices;
  known: Promise<unknown>; // the store has been read
  serverMs: () => number; // the time by the server's clock, as far as it is known
}

export class Answers {
  readonly #p: AnswersPorts;
  #early: Readonly<Record<string, string>> | null = null; // by key, until the core is up
  readonly #asked = new Map<string, { name: string; params: object }>(); // by key, the newest last

  constructor(ports: AnswersPorts) {
    this.#p = ports;
  }

  // early takes the answers of the last time, as again gave them.
  early(kept: Readonly<Record<string, string>>): void {
    this.#early = kept;
  }

  // outdate drops them: books, eyes or language are others now.
  outdate(): void {
    this.#early = null;
  }

  // again answers anew what the page asked for last, to be kept for the next start. It
  // throws CorePanic.
  again(): Record<string, string> {
    const kept: Record<string, string> = {};
    for (const [key, { name, params }] of this.#asked) {
      try {
        kept[key] = JSON.stringify(this.#p.core.call('view', { name, params }).json);
      } catch (e) {
        if (e instanceof CorePanic) throw e; // else it asked for a thing that is gone
      }
    }
    return kept;
  }

  async view<K extends ViewName>(name: K, params: Record<string, unknown>): Promise<Views[K]> {
    await this.#p.known;
    const key = name + JSON.stringify(params);
    this.#asked.delete(key);
    this.#asked.set(key, { name, params });
    for (const oldest of this.#asked.keys()) if (this.#asked.size > keptMax) this.#asked.delete(oldest);
    const early = this.#early?.[key];
    if (early !== undefined) return JSON.parse(early) as Views[K];
    await this.#p.reader.whole();
    return (await this.#p.core.run('view', { name, params })) as Views[K];
  }

  // older has the server answer, which has what lies behind this phone's window. What is
  // unsent it lacks.
  async older<K extends ViewName>(name: K, params: object): Promise<Views[K]> {
    await this.#p.known;
    const { core, seats, tokens, choices, serverMs } = this.#p;
    const shop = (await core.run('view', { name: 'shop', params: {} })) as Views['shop'];
    return (await askServer(
      tokens,
      seats.holder,
      name,
      params,
      choices.filled(shop.units),
      serverMs(),
      -new Date().getTimezoneOffset(),
    )) as Views[K];
  }
}
