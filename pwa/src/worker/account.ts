// Coming and going of people: what only the server can grant.

import { ProblemError } from '../shared/problem';
import type { Net, Reply } from './net';
import type { Seats } from './seats';
import type { Tokens } from './session';
import { grantOf } from './session';

const askMs = 4_000;
const enterMs = 15_000; // a passphrase is checked slowly on purpose

export interface Door { needsSetUp: boolean; left: string[] }

export class Account {
  readonly #net: Net;
  readonly #tokens: Tokens;
  readonly #seats: Seats;

  constructor(net: Net, tokens: Tokens, seats: Seats) {
    this.#net = net;
    this.#tokens = tokens;
    this.#seats = seats;
  }

  // door asks whether the shop has anybody yet and under which addresses it was reached
  // before; null when the server does not say.
  async door(): Promise<Door | null> {
    const reply = await this.#net.ask('/api/v1/setup', { timeoutMs: askMs });
    if (reply.kind !== 'answer') return null;
    try {
      const { needed, left } = read(reply.bytes) as { needed?: unknown; left?: unknown };
      const addresses = Array.isArray(left) ? (left as { origin?: unknown }[]).map((l) => l?.origin) : [];
      return { needsSetUp: needed === true, left: addresses.filter((a): a is string => typeof a === 'string' && /^https?:\/\/[^/]+$/.test(a)) };
    } catch {
      return null;
    }
  }

  // enter signs in or sets the shop up, and keeps the session before it counts.
  async enter(path: string, body: object): Promise<void> {
    const known = this.#net.server;
    this.#net.server = ''; // a person at the door may bring the phone to another server
    let reply: Reply;
    try {
      reply = await this.#net.ask(path, { method: 'POST', body: JSON.stringify({ ...body, ...(await this.#tokens.ofDevice()) }), timeoutMs: enterMs });
    } finally {
      this.#net.server = known;
    }
    const grant = grantOf(answerOf(reply));
    if (grant === null) throw new ProblemError('no_server', 'the server did not make sense');
    this.#tokens.take(grant); // the first request after the change finds it
    try {
      await this.#seats.enter(grant.person, grant.server_id);
    } catch (e) {
      await this.#end(grant.person.id);
      throw e;
    }
  }

  // signOut ends the session of whoever holds the phone, here at once, and at the
  // server if it can be reached; otherwise the server's half ends by its age.
  async signOut(): Promise<void> {
    const person = this.#seats.holder;
    await this.#seats.leave();
    await this.#end(person);
  }

  // end has the server end a session. It names the person: the access token may be over,
  // and of the cookies of several people the server must know which is meant.
  async #end(person: string): Promise<void> {
    await this.#tokens.ask(person, `/api/v1/session?person=${encodeURIComponent(person)}`, { method: 'DELETE', timeoutMs: askMs });
    this.#tokens.drop(person);
  }

  // ask makes one call in the session of whoever holds the phone, and reads the answer.
  async ask<T>(method: 'GET' | 'POST' | 'DELETE', path: string, body?: object): Promise<T> {
    const person = this.#seats.holder;
    const bytes = answerOf(await this.#tokens.ask(person, '/api/v1' + path, { method, timeoutMs: enterMs, ...(body === undefined ? {} : { body: JSON.stringify(body) }) }));
    return (bytes.length === 0 ? null : read(bytes)) as T;
  }
}

function read(bytes: Uint8Array): unknown {
  return JSON.parse(new TextDecoder().decode(bytes));
}

// answerOf gives the body of an answer, or throws what the page is to be told.
function answerOf(reply: Reply): Uint8Array {
  switch (reply.kind) {
    case 'answer':
      return reply.bytes;
    case 'none':
      throw new ProblemError('no_server', 'the server did not answer', reply.why);
    case 'problem':
      throw new ProblemError(reply.code, reply.title, reply.detail);
  }
}
