// A session for the moment: of a manager on a phone that several people use (the rule
// stands in server/auth/moment.go). It lives in the memory of the app's windows and is
// over when somebody else takes the phone, after ten minutes without a tap, and when the
// app closes: a window that opens and finds no other one that knows the token ends it.

import type { Reading } from '../shared/clock';
import type { Told } from './windows';

export const idleMs = 10 * 60_000; // without a tap; the server's MomentLife
const prolongMs = 15_000; // between two tokens while somebody taps
const answerMs = 400; // for another window to say that it knows the token

export interface MomentPorts {
  clock: () => Reading;
  token: (person: string) => string; // '' when this window has none
  prolong: (person: string) => void; // has the server make it last
  end: (person: string) => Promise<void>; // resolves when nobody holds the phone by it any more
  tell: (message: Told) => void; // to the other windows
}

export class Moment {
  readonly #p: MomentPorts;
  #person = '';
  #touchedAt: Reading | null = null;
  #prolongedAt = 0; // mono_ms
  #timer: ReturnType<typeof setTimeout> | undefined;
  #ending: Promise<void> | null = null;
  #heard: () => void = () => undefined; // somebody waits for another window's token

  constructor(ports: MomentPorts) {
    this.#p = ports;
  }

  // granted begins or prolongs it by a token that the server gave to this window; heard,
  // by one that another window got.
  granted(person: string, access: string): void {
    this.heard(person);
    this.#p.tell({ type: 'moment', person, access });
  }

  heard(person: string): void {
    this.#prolongedAt = this.#p.clock().mono_ms;
    this.follow(person);
    this.#heard();
  }

  // follow takes over whose session it is, as the seats say; '' nobody's.
  follow(person: string): void {
    if (this.#person === person) return;
    clearTimeout(this.#timer);
    this.#person = person;
    if (person !== '') this.#touch();
  }

  // touched tells that somebody uses the phone, here or in another window.
  touched(isHere: boolean): void {
    if (this.#person === '') return;
    if (this.#isIdle()) {
      void this.look();
      return;
    }
    this.#touch();
    if (!isHere) return;
    this.#p.tell({ type: 'touched' });
    if (this.#p.clock().mono_ms - this.#prolongedAt >= prolongMs) {
      this.#prolongedAt = this.#p.clock().mono_ms;
      this.#p.prolong(this.#person);
    }
  }

  // look ends it if nobody has tapped for too long, as timers of a phone that slept do not.
  look(): Promise<void> {
    if (this.#person === '' || !this.#isIdle()) return Promise.resolve();
    return (this.#ending ??= this.#p.end(this.#person).finally(() => {
      this.#ending = null;
    }));
  }

  // share gives a window that has just opened what it asks for.
  share(): void {
    const access = this.#person === '' ? '' : this.#p.token(this.#person);
    if (access !== '') this.#p.tell({ type: 'moment', person: this.#person, access });
  }

  // lives asks the other windows whether a session for the moment goes on.
  async lives(person: string): Promise<boolean> {
    if (this.#p.token(person) !== '') return true;
    await new Promise<void>((resolve) => {
      this.#heard = resolve;
      setTimeout(resolve, answerMs);
      this.#p.tell({ type: 'moment?' });
    });
    return this.#p.token(person) !== '';
  }

  #touch(): void {
    this.#touchedAt = this.#p.clock();
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.#again(), idleMs);
  }

  // again looks when the time is over, and later once more if it was not.
  async #again(): Promise<void> {
    await this.look();
    if (this.#person !== '') this.#timer = setTimeout(() => void this.#again(), 1_000);
  }

  // isIdle goes by both clocks: the wall clock may be set back, the other may stand still
  // while the phone sleeps.
  #isIdle(): boolean {
    const was = this.#touchedAt,
      now = this.#p.clock();
    return was !== null && (now.wall_ms - was.wall_ms >= idleMs || now.mono_ms - was.mono_ms >= idleMs);
  }
}
