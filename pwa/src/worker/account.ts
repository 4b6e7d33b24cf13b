// Coming and going of people: what only the server can grant.

import { ProblemError } from '../shared/problem';
import type { Net, Reply } from './net';
import type { Seats } from './seats';
import type { Tokens } from './session';
import { grantOf } from './session';

const askMs = 4_000;
const enterMs = 15_000; // a passphrase is checked slowly on purpose

export interface Door {
  needsSetUp: boolean;
  left: string[];
}

export class Account {
  readonly #net: Net;
  readonly #tokens: Tokens;
  readonly #seats: Seats;
  readonly #sendOff: (person: string) => Promise<void>;

  // sendOff has what a person recorded sent, if there is a network, and waits for it a while.
  constructor(net: Net, tokens: Tokens, seats: Seats, sendOff: (person: string) => Promise<void>) {
    this.#net = net;
    this.#tokens = tokens;
    this.#seats = seats;
    this.#sendOff = sendOff;
  }

  // door asks whether the shop has anybody yet and under which addresses it was reached
  // before; null when the server does not say.
  async door(): Promise<Door | null> {
    const reply = await this.#net.ask('/api/v1/setup', { timeoutMs: askMs });
    if (reply.kind !== 'answer') return null;
    try {
      const { needed, left } = read(reply.bytes) as { needed?: unknown; left?: unknown };
      const addresses = Array.isArray(left) ? (left as { origin?: unknown }[]).map((l) => l?.origin) : [];
      return {
        needsSetUp: needed === true,
        left: addresses.filter((a): a is string => typeof a === 'string' && /^https?:\/\/[^/]+$/.test(a)),
      };
    } catch {
      return null;
    }
  }

  // enter signs in or sets the shop up, and keeps the session before it counts. A manager's
  // session from before ends with it.
  async enter(path: string, body: object): Promise<void> {
    const known = this.#net.server,
      managers = this.#seats.at.seats.filter((s) => s.person.role === 'manager' && !s.isOver);
    for (const s of managers) await this.#sendOff(s.person.id);
    this.#net.server = ''; // a person at the door may bring the phone to another server
    let reply: Reply;
    try {
      reply = await this.#net.ask(path, {
        method: 'POST',
        body: JSON.stringify({ ...body, ...(await this.#tokens.ofDevice()) }),
        timeoutMs: enterMs,
      });
    } finally {
      this.#net.server = known;
    }
    const grant = grantOf(answerOf(reply));
    if (grant === null) throw new ProblemError('no_server', 'the server did not make sense');
    this.#tokens.take(grant); // the first request after the change finds it
    try {
      await this.#seats.enter(grant.person, grant.server_id, grant.moment === true);
    } catch (e) {
      await this.#end(grant.person.id);
      throw e;
    }
    for (const s of managers) if (this.#seats.isOver(s.person.id)) this.#tokens.forget(s.person.id);
  }

  // signOut ends the session of whoever holds the phone, here at once, and at the server
  // as soon as it can be reached. What they recorded goes out before, if there is a network.
  async signOut(): Promise<void> {
    const person = this.#seats.holder;
    await this.#sendOff(person);
    await this.#seats.leave(person);
    await this.#end(person);
  }

  // close ends a session for the moment. Nobody holds the phone by it from now on; it only
  // takes along what was recorded in it.
  async close(person: string): Promise<void> {
    await this.#seats.putDown(person);
    await this.#sendOff(person);
    if (this.#seats.holder === person) return; // signed in again meanwhile
    await this.#seats.leave(person);
    await this.#end(person);
  }

  // endRest tells the server of those who signed out while it could not be reached.
  async endRest(): Promise<void> {
    for (const person of this.#seats.at.ending) await this.#end(person);
  }

  // takeOff has a manager end somebody else's session on this phone, and take their seat.
  async takeOff(person: string, device: string): Promise<void> {
    const path = `/people/${encodeURIComponent(person)}/sessions`;
    const { sessions } = await this.ask<{ sessions: { id: string; device: string }[] }>('GET', path);
    for (const s of sessions) if (s.device === device) await this.ask('DELETE', `${path}/${encodeURIComponent(s.id)}`);
    await this.#seats.leave(person);
    this.#tokens.forget(person);
    await this.#seats.ended(person);
  }

  // end has the server end a session, by its cookie or its token. It names the person: the
  // access token may be over, and of the cookies of several people the server must know
  // which is meant.
  async #end(person: string): Promise<void> {
    const token = this.#tokens.of(person);
    this.#tokens.forget(person);
    const reply = await this.#net.ask(`/api/v1/session?person=${encodeURIComponent(person)}`, {
      method: 'DELETE',
      timeoutMs: askMs,
      ...(token === '' ? {} : { token }),
    });
    if (reply.kind === 'answer' || (reply.kind === 'problem' && reply.status === 401)) await this.#seats.ended(person);
  }

  // ask makes one call in the session of whoever holds the phone, and reads the answer.
  async ask<T>(method: 'GET' | 'POST' | 'DELETE', path: string, body?: object): Promise<T> {
    const person = this.#seats.holder;
    const bytes = answerOf(
      await this.#tokens.ask(person, '/api/v1' + path, {
        method,
        timeoutMs: enterMs,
        ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      }),
    );
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
