// The session with the server: an access token in memory, fetched anew by the
// cookie when needed. Only the server's own refusal ends it; no network failure does.

import type { Net, Reply } from './net';
import { failureOf } from './net';

export interface Grant { access: string; expires_in: number; person: { id: string; name: string; role: 'coater' | 'clerk' | 'manager' }; server_id: string; epoch: string }

export type Refreshed = { kind: 'fresh'; grant: Grant } | { kind: 'ended'; code: string } | { kind: 'failed'; why: string; retryMs: number };

// Locks runs one refresh at a time over all windows of this phone, so that they do
// not rotate the cookie against each other.
export type Locks = <T>(run: () => Promise<T>) => Promise<T>;

export class Tokens {
  readonly #net: Net;
  readonly #alone: Locks;
  #access = '';
  #running: Promise<Refreshed> | null = null;

  constructor(net: Net, alone: Locks) {
    this.#net = net;
    this.#alone = alone;
  }

  get has(): boolean { return this.#access !== ''; }

  take(grant: Grant): void { this.#access = grant.access; }

  drop(): void { this.#access = ''; }

  // refresh fetches a new token; several callers share one request.
  refresh(timeoutMs: number): Promise<Refreshed> {
    this.#running ??= this.#alone(() => this.#fetch(timeoutMs)).finally(() => { this.#running = null; });
    return this.#running;
  }

  async #fetch(timeoutMs: number): Promise<Refreshed> {
    const reply = await this.#net.ask('/api/v1/session/refresh', { method: 'POST', timeoutMs });
    if (reply.kind === 'answer') {
      const grant = grantOf(reply.bytes);
      if (grant === null) return { kind: 'failed', why: 'no_server', retryMs: 0 };
      this.take(grant);
      return { kind: 'fresh', grant };
    }
    if (reply.kind === 'problem' && (reply.status === 401 || reply.status === 403)) {
      this.drop();
      return { kind: 'ended', code: reply.code };
    }
    return { kind: 'failed', ...failureOf(reply) };
  }

  // ask makes a request with the token, fetching one first when there is none. It
  // does not repeat a request that the server refused.
  async ask(path: string, ask: { method?: 'GET' | 'POST' | 'DELETE'; body?: Uint8Array | string; timeoutMs: number }): Promise<Reply> {
    if (!this.has) {
      const fresh = await this.refresh(ask.timeoutMs);
      if (fresh.kind === 'ended') return { kind: 'problem', status: 401, code: fresh.code, title: 'the session is over', detail: '', retryMs: 0, server: this.#net.server };
      if (fresh.kind === 'failed') return { kind: 'none', why: fresh.why };
    }
    const reply = await this.#net.ask(path, { ...ask, token: this.#access });
    if (reply.kind === 'problem' && reply.status === 401) this.drop();
    return reply;
  }

  // stream opens the live stream; null when there is none to be had now.
  stream(signal: AbortSignal): Promise<ReadableStream<Uint8Array> | null> {
    return this.#net.open('/api/v1/live', this.#access, signal);
  }
}

// grantOf reads the answer to signing in or refreshing; null when it makes no sense.
export function grantOf(bytes: Uint8Array): Grant | null {
  try {
    const g = JSON.parse(new TextDecoder().decode(bytes)) as Partial<Grant>;
    const isWhole = typeof g.access === 'string' && g.access !== '' && typeof g.server_id === 'string' && typeof g.person?.id === 'string';
    return isWhole ? (g as Grant) : null;
  } catch {
    return null;
  }
}
