// The sessions with the server: for each person of this phone an access token in
// memory, fetched anew by their cookie when needed. Only the server's own refusal
// ends one; no network failure does. A session for the moment has no cookie: its token
// brings the next one, and all windows know it.

import type { Net, Reply } from './net';
import { failureOf } from './net';

export interface Grant {
  access: string;
  expires_in: number;
  person: { id: string; name: string; role: 'coater' | 'clerk' | 'manager' };
  server_id: string;
  epoch: string;
  moment?: boolean;
}

export type Refreshed =
  { kind: 'fresh'; grant: Grant } | { kind: 'ended'; code: string } | { kind: 'failed'; why: string; retryMs: number };

// Locks runs one refresh at a time over all windows of this phone, so that they do
// not rotate the cookie against each other.
export type Locks = <T>(run: () => Promise<T>) => Promise<T>;

// Told hears what the server says of a session's owner, that it is over, and each token of
// one for the moment.
export interface Told {
  fresh(person: Grant['person']): void;
  over(person: string): Promise<void>;
  moment(person: string, access: string): void;
}

export class Tokens {
  readonly #net: Net;
  readonly #alone: Locks;
  readonly #access = new Map<string, string>();
  readonly #running = new Map<string, Promise<Refreshed>>();
  readonly #moments = new Set<string>(); // whose session is for the moment
  secret: () => Promise<string> = () => Promise.resolve(''); // of this phone; see Shelf.secret
  told: Told = { fresh: () => undefined, over: () => Promise.resolve(), moment: () => undefined };
  listed: () => readonly string[] = () => []; // who has a seat on this phone

  constructor(net: Net, alone: Locks) {
    this.#net = net;
    this.#alone = alone;
  }

  has(person: string): boolean {
    return this.#access.has(person);
  }

  // of is a person's token; '' when there is none.
  of(person: string): string {
    return this.#access.get(person) ?? '';
  }

  take({ person, access, moment }: Grant): void {
    this.#access.set(person.id, access);
    this.#moments.delete(person.id);
    if (moment !== true) return;
    this.#moments.add(person.id);
    this.told.moment(person.id, access);
  }

  // takeMoment takes the token of a session for the moment from another window.
  takeMoment(person: string, access: string): void {
    this.#access.set(person, access);
    this.#moments.add(person);
  }

  // drop lets go of a token: the next request fetches another one, if there is a way.
  drop(person: string): void {
    this.#access.delete(person);
  }

  forget(person: string): void {
    this.#access.delete(person);
    this.#moments.delete(person);
  }

  // refresh fetches a new token for a person; several callers share one request.
  refresh(person: string, timeoutMs: number): Promise<Refreshed> {
    let run = this.#running.get(person);
    if (run === undefined) {
      run = this.#alone(() => this.#fetch(person, timeoutMs)).finally(() => {
        this.#running.delete(person);
      });
      this.#running.set(person, run);
    }
    return run;
  }

  // ofDevice is what a request tells that begins a session or goes on with one.
  async ofDevice(): Promise<{ device_secret?: string }> {
    const secret = await this.secret();
    return secret === '' ? {} : { device_secret: secret };
  }

  async #fetch(person: string, timeoutMs: number): Promise<Refreshed> {
    const isMoment = this.#moments.has(person),
      token = this.of(person);
    if (isMoment && token === '') return this.#over(person, 'auth.ended');
    const body = JSON.stringify({ person, seats: this.listed(), ...(await this.ofDevice()) });
    const reply = await this.#net.ask('/api/v1/session/refresh', {
      method: 'POST',
      body,
      timeoutMs,
      ...(isMoment ? { token } : {}),
    });
    if (reply.kind === 'answer') {
      const grant = grantOf(reply.bytes);
      if (grant === null || grant.person.id !== person) return { kind: 'failed', why: 'no_server', retryMs: 0 };
      this.take(grant);
      this.told.fresh(grant.person);
      return { kind: 'fresh', grant };
    }
    if (reply.kind === 'problem' && (reply.status === 401 || reply.status === 403))
      return this.#over(person, reply.code);
    return { kind: 'failed', ...failureOf(reply) };
  }

  async #over(person: string, code: string): Promise<Refreshed> {
    this.drop(person);
    await this.told.over(person);
    return { kind: 'ended', code };
  }

  // ask makes a request in a person's session, fetching a token first when there is
  // none. It does not repeat a request that the server refused.
  async ask(
    person: string,
    path: string,
    ask: { method?: 'GET' | 'POST' | 'PUT' | 'DELETE'; body?: Uint8Array | string; timeoutMs: number; proof?: string },
  ): Promise<Reply> {
    if (person === '') return over('auth.ended', this.#net.server);
    if (!this.has(person)) {
      const fresh = await this.refresh(person, ask.timeoutMs);
      if (fresh.kind === 'ended') return over(fresh.code, this.#net.server);
      if (fresh.kind === 'failed') return { kind: 'none', why: fresh.why };
    }
    const reply = await this.#net.ask(path, { ...ask, token: this.#access.get(person) ?? '' });
    if (reply.kind === 'problem' && reply.status === 401) this.drop(person);
    return reply;
  }

  // stream opens the live stream; null when there is none to be had now.
  stream(person: string, signal: AbortSignal): Promise<ReadableStream<Uint8Array> | null> {
    return this.#net.open('/api/v1/live', this.#access.get(person) ?? '', signal);
  }
}

function over(code: string, server: string): Reply {
  return { kind: 'problem', status: 401, code, title: 'the session is over', detail: '', retryMs: 0, server };
}

// grantOf reads the answer to signing in or refreshing; null when it makes no sense.
export function grantOf(bytes: Uint8Array): Grant | null {
  try {
    const g = JSON.parse(new TextDecoder().decode(bytes)) as Partial<Grant>;
    const isWhole =
      typeof g.access === 'string' &&
      g.access !== '' &&
      typeof g.server_id === 'string' &&
      typeof g.person?.id === 'string';
    return isWhole ? (g as Grant) : null;
  } catch {
    return null;
  }
}
