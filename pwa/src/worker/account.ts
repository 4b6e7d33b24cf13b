// Coming and going of people: what only the server can grant.

import type { Invite } from '../bridge/api';
import { ProblemError } from '../shared/problem';
import type { Net, Reply } from './net';
import type { Tokens } from './session';
import { grantOf } from './session';
import type { Session, Shelf } from './shelf';

const askMs = 4_000;
const enterMs = 15_000; // a passphrase is checked slowly on purpose

export class Account {
  readonly #net: Net;
  readonly #tokens: Tokens;
  readonly #shelf: Shelf;

  constructor(net: Net, tokens: Tokens, shelf: Shelf) {
    this.#net = net;
    this.#tokens = tokens;
    this.#shelf = shelf;
  }

  // needsSetUp asks whether the shop has anybody yet; null when the server does not say.
  async needsSetUp(): Promise<boolean | null> {
    const reply = await this.#net.ask('/api/v1/setup', { timeoutMs: askMs });
    if (reply.kind !== 'answer') return null;
    try {
      return (read(reply.bytes) as { needed?: unknown }).needed === true;
    } catch {
      return null;
    }
  }

  // enter signs in or sets the shop up, and keeps the session before it counts.
  async enter(path: string, body: object): Promise<Session> {
    const known = this.#net.server;
    this.#net.server = ''; // a person at the door may bring the phone to another server
    let reply: Reply;
    try {
      reply = await this.#net.ask(path, { method: 'POST', body: JSON.stringify(body), timeoutMs: enterMs });
    } finally {
      this.#net.server = known;
    }
    const grant = grantOf(answerOf(reply));
    if (grant === null) throw new ProblemError('no_server', 'the server did not make sense');
    const session: Session = { person: grant.person, server: grant.server_id, isSignedIn: true };
    await this.#shelf.saveSession(session);
    this.#tokens.take(grant);
    return session;
  }

  // signOut ends the session here at once, and at the server if it can be reached;
  // otherwise the server's half ends by its age.
  async signOut(was: Session): Promise<Session> {
    const session: Session = { person: null, server: was.server, isSignedIn: false };
    await this.#shelf.saveSession(session);
    await this.#tokens.ask('/api/v1/session', { method: 'DELETE', timeoutMs: askMs });
    this.#tokens.drop();
    return session;
  }

  async invite(person: string): Promise<Invite> {
    const path = `/api/v1/people/${encodeURIComponent(person)}/invite`;
    return read(answerOf(await this.#tokens.ask(path, { method: 'POST', body: '{}', timeoutMs: enterMs }))) as Invite;
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
