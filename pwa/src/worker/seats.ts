// Who is signed in on this phone. Each has a session of their own, by which their
// entries go out; one of them holds the phone. What ends a session never touches
// entries: they wait for their author, or for a manager who hands them in.
//
// Where somebody else has a seat too, the server lets a manager in for the moment only
// (server/auth/moment.go has the rule): such a seat has no PIN and goes with its session,
// and a manager's seat from before goes when somebody else signs in.

import type { SeatView } from '../bridge/api';
import { ProblemError } from '../shared/problem';
import { isPin, makePin, matches, waitAfter, waitLeft } from './pin';
import type { Person, Seat, Seated, Session } from './seated';
import type { Shelf } from './shelf';

export const seatsMax = 12; // each is a cookie of some 120 bytes in every sign-in request

export interface SeatsPorts {
  shelf: Shelf;
  now: () => number; // wall clock, ms
  noise: (bytes: number) => Uint8Array;
  changed: () => void; // tell page, replica and the other windows
}

export class Seats {
  readonly #p: SeatsPorts;
  #at: Seated = { session: noSession, seats: [], isShut: false, ending: [] };
  #proven = ''; // who showed the server who they are since this worker started

  constructor(ports: SeatsPorts) {
    this.#p = ports;
  }

  // know takes what the store says.
  know(at: Seated): void {
    this.#at = at;
  }

  get at(): Seated {
    return this.#at;
  }

  get session(): Session {
    return this.#at.session;
  }

  // holder is who holds the phone; '' when nobody does.
  get holder(): string {
    return this.#at.session.person?.id ?? '';
  }

  get isAnybody(): boolean {
    return this.#at.seats.length > 0;
  }

  // ids names those who have a seat here.
  get ids(): string[] {
    return this.#at.seats.map((s) => s.person.id);
  }

  // moment is who is signed in for the moment; '' nobody.
  get moment(): string {
    return momentOf(this.#at);
  }

  // isOver tells whether a person must sign in anew; so must one who has no seat.
  isOver(person: string): boolean {
    return this.#seat(person)?.isOver !== false;
  }

  // carrier is whose session speaks for the phone itself: that of the person who holds
  // it, else any that lives; '' when none does.
  carrier(): string {
    const { holder } = this;
    if (!this.isOver(holder)) return holder;
    const living = this.#at.seats.filter((s) => !s.isOver);
    return (living.find((s) => !s.isMoment) ?? living[0])?.person.id ?? '';
  }

  // sender is whose session takes an author's entries to the server; '' when they wait.
  sender(author: string): string {
    if (!this.isOver(author)) return author;
    const holder = this.#at.session.person;
    return this.#at.session.handIn?.includes(author) === true && holder?.role === 'manager' && !this.isOver(holder.id)
      ? holder.id
      : '';
  }

  // handIn lets the manager who holds the phone send what an author left. The server
  // holds such entries until a manager has looked at them.
  // It lasts until somebody else holds the phone.
  async handIn(author: string): Promise<void> {
    const holder = this.#at.session.person;
    if (holder?.role !== 'manager') throw new ProblemError('role.may_not', 'managers only');
    if (this.isOver(holder.id)) throw new ProblemError('auth.ended', 'sign in first');
    await this.#change(({ session }) => ({ session: { ...session, handIn: [...(session.handIn ?? []), author] } }));
  }

  view(): SeatView[] {
    const now = this.#p.now(),
      holder = this.#at.session.person?.id;
    return this.#at.seats.map((s) => ({
      ...s.person,
      isHere: s.person.id === holder,
      isOver: s.isOver,
      isMoment: s.isMoment,
      hasPin: s.pin !== null,
      pinDigits: s.pin?.digits ?? null,
      waitMs: waitLeft(s.untilMs, now),
    }));
  }

  // enter gives a person who has just signed in a seat and the phone. Managers who had
  // one give way: the server has ended their sessions here.
  async enter(person: Person, server: string, isMoment: boolean): Promise<void> {
    this.#proven = person.id;
    await this.#change(({ session, seats, ending }) => {
      const kept = session.server === '' || session.server === server ? seats : []; // another shop's people are strangers here
      const old = kept.find((s) => s.person.id === person.id),
        stay = kept.filter((s) => s === old || s.person.role !== 'manager');
      if (old === undefined && stay.length >= seatsMax)
        throw new ProblemError('seats_full', 'too many people are signed in on this phone', String(seatsMax));
      const seat: Seat = {
        person,
        isOver: false,
        isMoment,
        pin: person.role === 'manager' ? null : (old?.pin ?? null),
        wrong: 0,
        untilMs: 0,
      };
      return {
        session: { person, server, isSignedIn: true },
        seats: old === undefined ? [...stay, seat] : stay.map((s) => (s === old ? seat : s)),
        ending: ending.filter((id) => id !== person.id),
      };
    });
  }

  // putDown has nobody hold the phone, if a person still does.
  async putDown(person: string): Promise<void> {
    if (this.holder !== person) return;
    await this.#change((at) =>
      at.session.person?.id === person ? { session: { ...noSession, server: at.session.server } } : {},
    );
  }

  // leave takes a person's seat; their entries stay. The server is told when it can be.
  async leave(person: string): Promise<void> {
    await this.#change(without(person));
  }

  // ended notes that the server knows.
  async ended(person: string): Promise<void> {
    if (this.#at.ending.includes(person))
      await this.#change(({ ending }) => ({ ending: ending.filter((id) => id !== person) }));
  }

  // over notes that the server ended a session. The seat stays: its owner signs in anew.
  async over(person: string): Promise<void> {
    if (this.isOver(person)) return;
    await this.#change(({ seats }) => ({
      seats: seats.map((s) => (s.person.id === person ? { ...s, isOver: true } : s)),
    }));
  }

  // shut notes whether a manager has shut this phone out.
  async shut(isShut: boolean): Promise<void> {
    if (this.#at.isShut !== isShut) await this.#change(() => ({ isShut }));
  }

  // renew takes over what the server now says of a person: a new name or role.
  async renew(person: Person): Promise<void> {
    const was = this.#seat(person.id)?.person;
    if (was === undefined || (was.name === person.name && was.role === person.role)) return;
    await this.#change(({ session, seats }) => ({
      session: session.person?.id === person.id ? { ...session, person } : session,
      seats: seats.map((s) =>
        s.person.id === person.id ? { ...s, person, pin: person.role === 'manager' ? null : s.pin } : s,
      ),
    }));
  }

  // swap gives the phone to another of its people, by PIN and without the server.
  // Problems: seat_none, pin_manager, pin_none, pin_wait, pin_wrong.
  async swap(person: string, digits: string): Promise<void> {
    const seat = this.#seat(person);
    if (seat === undefined) throw new ProblemError('seat_none', 'this person is not signed in on this phone');
    if (seat.person.role === 'manager')
      throw new ProblemError('pin_manager', 'a manager has no PIN: it protects no session');
    if (seat.pin === null) throw new ProblemError('pin_none', 'this person has no PIN on this phone');
    const left = waitLeft(seat.untilMs, this.#p.now());
    if (left > 0) throw new ProblemError('pin_wait', 'too many wrong tries', seconds(left));
    if (await matches(seat.pin, digits)) {
      await this.#change(({ session, seats }) => ({
        session: { person: seat.person, server: session.server, isSignedIn: true },
        seats: seats.map((s) => (s.person.id === person ? { ...s, wrong: 0, untilMs: 0 } : s)),
      }));
      return;
    }
    const wrong = seat.wrong + 1,
      wait = waitAfter(wrong);
    await this.#change(({ seats }) => ({
      seats: seats.map((s) =>
        s.person.id === person ? { ...s, wrong, untilMs: wait === 0 ? 0 : this.#p.now() + wait } : s,
      ),
    }));
    throw new ProblemError('pin_wrong', 'that is not the PIN', wait === 0 ? '' : seconds(wait));
  }

  // setPin gives the holder of the phone a PIN. One that is there already must be known,
  // unless its owner has just signed in.
  async setPin(digits: string, old: string): Promise<void> {
    const { holder } = this,
      seat = this.#seat(holder);
    if (seat === undefined) throw new ProblemError('not_signed_in', 'nobody holds this phone');
    if (seat.person.role === 'manager')
      throw new ProblemError('pin_manager', 'a manager has no PIN: it protects no session');
    if (!isPin(digits)) throw new ProblemError('pin_form', 'a PIN has four to six digits');
    if (seat.pin !== null && this.#proven !== holder && !(await matches(seat.pin, old)))
      throw new ProblemError('pin_wrong', 'that is not the old PIN', '');
    const pin = await makePin(digits, this.#p.noise);
    await this.#change(({ seats }) => ({
      seats: seats.map((s) => (s.person.id === holder ? { ...s, pin, wrong: 0, untilMs: 0 } : s)),
    }));
  }

  #seat(person: string): Seat | undefined {
    return this.#at.seats.find((s) => s.person.id === person);
  }

  async #change(how: (at: Seated) => Partial<Seated>): Promise<void> {
    this.#at = await this.#p.shelf.changeSeats((at) => ({ ...at, ...how(at) }));
    this.#p.changed();
  }
}

const noSession: Session = { person: null, server: '', isSignedIn: false };

// momentOf is who is signed in for the moment; '' nobody.
export function momentOf(at: Seated): string {
  return at.seats.find((s) => s.isMoment)?.person.id ?? '';
}

// without is what remains when a person leaves. A session for the moment is told to the
// server at once or never: nothing of it is kept here.
export function without(person: string): (at: Seated) => Partial<Seated> {
  return ({ session, seats, ending }) => ({
    session: session.person?.id === person ? { ...noSession, server: session.server } : session,
    seats: seats.filter((s) => s.person.id !== person),
    ending: seats.some((s) => s.person.id === person && !s.isMoment && !s.isOver)
      ? [...ending.filter((id) => id !== person), person]
      : ending,
  });
}

function seconds(ms: number): string {
  return `${Math.ceil(ms / 1000)} s`;
}
