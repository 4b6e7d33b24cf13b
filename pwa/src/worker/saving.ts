// Keeps the folded books and the last answers for the next start. Losing them costs only
// time.

import type { Answers } from './answers';
import type { CoreStatus } from './effects';
import type { RunningCore } from './running-core';
import type { SavedAt, Shelf } from './shelf';

const afterMs = 500;

export interface SavingPorts {
  core: RunningCore;
  shelf: Pick<Shelf, 'saveFold' | 'keepReserve'>;
  answers: Answers;
  program: string; // address of the core: only the same one can read its state
  eyes: () => string; // for whom the answers are printed, and how
  isLeader: () => boolean; // only one window saves
  isMoving: () => boolean; // entries are on their way, so there is more to come
  noise: (bytes: number) => Uint8Array;
}

export class Saving {
  readonly #p: SavingPorts;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #saved = ''; // which core's rev

  constructor(ports: SavingPorts) {
    this.#p = ports;
  }

  // soon saves once nothing has happened for a moment.
  soon(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.now(), afterMs);
  }

  // now saves at once. A save that fails is dropped: the next one makes up for it.
  now(): void {
    this.#save().catch(() => undefined);
  }

  async #save(): Promise<void> {
    const { core, shelf, answers, program, eyes, isLeader, isMoving, noise } = this.#p;
    await core.ready;
    if (!isLeader()) return;
    if (isMoving()) {
      this.soon(); // the same work again a moment later
      return;
    }
    const { rev } = core.call('status').json as CoreStatus;
    const state = `${core.starts} ${rev}`;
    if (state === this.#saved) return;
    const out = core.call('save'),
      bytes = out.blobs[0];
    if (out.json === null || bytes === undefined) return;
    const views = answers.again();
    await shelf.saveFold({ at: out.json as SavedAt, core: program, bytes, who: eyes(), views });
    this.#saved = state;
    await shelf.keepReserve(noise);
    core.call('rest'); // a collection now costs nobody a moment
  }
}
