// Who is signed in on this phone, who of them holds it, and what they have half filled
// in, as it lies in the store.

import type { Role } from '../bridge/api';
import type { Pin } from './pin';
import type { Tx } from './store';

export interface Person {
  id: string;
  name: string;
  role: Role;
}
export interface Seat {
  person: Person;
  isOver: boolean;
  isMoment: boolean;
  pin: Pin | null;
  wrong: number;
  untilMs: number;
}

// Session is who holds the phone; who else is signed in on it, the seats tell. handIn
// names people whose entries the manager who holds it sends for them.
export interface Session {
  person: Person | null;
  server: string;
  isSignedIn: boolean;
  handIn?: readonly string[];
}

// Seated: a manager shut this phone out; whose sessions the server has still to be told the end of.
export interface Seated {
  session: Session;
  seats: Seat[];
  isShut: boolean;
  ending: readonly string[];
}

const noSession: Session = { person: null, server: '', isSignedIn: false };

// readSeated reads who is here. A store from before there were seats knows one person.
export async function readSeated(tx: Tx): Promise<Seated> {
  const session = ((await tx.get('meta', 'session')) ?? noSession) as Session;
  const [seats, shut, ending] = (await Promise.all([
    tx.get('meta', 'seats'),
    tx.get('meta', 'shut'),
    tx.get('meta', 'ending'),
  ])) as [Seat[] | undefined, boolean | undefined, string[] | undefined];
  const rest = { session, isShut: shut === true, ending: ending ?? [] };
  if (seats !== undefined || session.person === null)
    return { ...rest, seats: (seats ?? []).map((s) => ({ ...s, isMoment: s.isMoment === true })) };
  return {
    ...rest,
    seats: [{ person: session.person, isOver: false, isMoment: false, pin: null, wrong: 0, untilMs: 0 }],
  };
}

// changeSeated changes who is here. With a manager's session go the drafts: they may show
// prices.
export async function changeSeated(tx: Tx, how: (at: Seated) => Seated): Promise<Seated> {
  const was = await readSeated(tx),
    next = how(was),
    stay = new Set(managers(next));
  for (const id of managers(was)) if (!stay.has(id)) await dropDrafts(tx, id);
  await tx.put('meta', 'session', next.session);
  await tx.put('meta', 'seats', next.seats);
  await tx.put('meta', 'shut', next.isShut);
  await tx.put('meta', 'ending', next.ending);
  return next;
}

// managers are those whose session lives.
function managers(at: Seated): string[] {
  return at.seats.filter((s) => s.person.role === 'manager' && !s.isOver).map((s) => s.person.id);
}

// DraftOf names a half-filled form: everybody has their own.
export interface DraftOf {
  person: string;
  key: string;
}

export function draftKey(d: DraftOf): string {
  return `draft:${d.person}:${d.key}`;
}

export function dropDrafts(tx: Tx, person: string): Promise<void> {
  return tx.drop('meta', `draft:${person}:`, `draft:${person}:\uffff`);
}
