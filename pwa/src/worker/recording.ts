// From a filled-in form to entries that are durable on this phone. Nothing is called
// saved before the store says so, and nothing that the store holds is lost sight of.

import type { Plan, Recorded, RecordHow } from '../bridge/api';
import { ProblemError } from '../shared/problem';
import type { CoreAnswer } from './core';
import { CorePanic } from './core';
import type { News } from './news';
import type { Reader } from './reader';
import type { RunningCore } from './running-core';
import type { Seats } from './seats';
import type { OwnRow, Sealed, Shelf } from './shelf';
import { isFull } from './shelf';

// Tasks that name an earlier entry; a saved state knows only what entries have made.
const aboutEntries: ReadonlySet<string> = new Set(['void', 'note', 'admit', 'decline']);

export interface RecordingPorts {
  core: RunningCore;
  reader: Reader;
  news: News;
  seats: Seats;
  shelf: Pick<Shelf, 'earlier' | 'record'>;
  wallMs: () => number;
  took: (out: CoreAnswer) => void; // the core has taken the entries in and asks for this
  unsure: () => void; // this window's sync should look at the store
  stored: () => void; // the other windows should
  recorded: () => void; // the books hold entries that were not there before
  mayGoOn: () => Promise<void>; // ends a session whose time is over
}

export class Recording {
  readonly #p: RecordingPorts;

  constructor(ports: RecordingPorts) {
    this.#p = ports;
  }

  async plan(task: string, form: Record<string, string>): Promise<Plan> {
    if (aboutEntries.has(task)) await this.#p.reader.whole();
    return (await this.#p.core.run('plan', { name: task, form })) as Plan;
  }

  // record stores what a form says and resolves once it is durable. The same request
  // again stores nothing and gives what the first one gave. Problems: holder_changed, not_saved, and what the core says of the form.
  async record(
    task: string,
    form: Record<string, string>,
    why: string,
    request: string,
    how: RecordHow = {},
  ): Promise<Recorded> {
    try {
      return await this.#record(task, form, why, request, how);
    } catch (e) {
      if (!(e instanceof CorePanic)) throw e;
      await this.#p.core.ready; // the core broke before anything was stored: the next one tries
      return this.#record(task, form, why, request, how);
    }
  }

  async #record(
    task: string,
    form: Record<string, string>,
    why: string,
    request: string,
    { by, draft = task }: RecordHow,
  ): Promise<Recorded> {
    const { core, reader, news, seats, shelf } = this.#p;
    await (aboutEntries.has(task) ? reader.whole() : core.ready);
    const earlier = await shelf.earlier(request);
    if (earlier !== null) {
      this.#doubt();
      return { ids: earlier.ids, savedMs: earlier.savedMs };
    }
    await this.#p.mayGoOn();
    if (by !== undefined && by !== seats.session.person?.id)
      throw new ProblemError('holder_changed', 'somebody else has the phone by now', '');
    const { token } = (await core.run('prepare', { name: task, form, why })) as { token: number };
    const nth = core.starts; // another core knows the token not, or for something else
    let saved: Awaited<ReturnType<Shelf['record']>>;
    try {
      saved = await shelf.record(request, { person: seats.holder, key: draft }, this.#p.wallMs(), (n) => {
        if (core.starts !== nth) throw new CorePanic('the core that had prepared it is gone');
        return this.#seal(token, n);
      });
    } catch (e) {
      if (e instanceof CorePanic) core.broke(e);
      else {
        if (core.isRunning && core.starts === nth) core.call('drop', { token });
        this.#doubt();
      }
      throw this.#notSaved(e);
    }
    news.storeWorks();
    if (saved.isNew && core.starts === nth) this.#layIn(token);
    else this.#doubt();
    this.#p.recorded();
    return { ids: saved.ids, savedMs: saved.savedMs };
  }

  // seal makes the bytes of prepared entries, numbered from n.
  #seal(token: number, n: number): Sealed[] {
    const out = this.#p.core.call('seal', { token, n });
    return (out.json as OwnRow[]).map((row, i) => ({ row, bytes: out.blobs[i] ?? new Uint8Array() }));
  }

  // layIn puts entries that are stored into the books.
  #layIn(token: number): void {
    try {
      this.#p.took(this.#p.core.call('recorded', { token }));
    } catch (e) {
      this.#p.core.broke(e); // the new core finds the entries in the store
    }
    this.#p.stored();
  }

  // doubt has the store read in all windows: it may hold entries that no core knows
  // of. A transaction can be reported as failed and be complete all the same, when the
  // connection to the database dies in between; then its entries would wait there.
  #doubt(): void {
    this.#p.unsure();
    this.#p.stored();
  }

  // notSaved says loudly that an entry is not on the phone.
  #notSaved(e: unknown): unknown {
    if (e instanceof ProblemError || e instanceof CorePanic) return e;
    this.#p.news.storeFails();
    return new ProblemError(
      'not_saved',
      isFull(e)
        ? 'the phone is full: the entry was NOT saved'
        : 'the phone could not store the entry: it was NOT saved',
      String(e),
    );
  }
}
