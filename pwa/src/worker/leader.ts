// Of all windows of this phone one does the syncing. The lock decides; a beat lets
// the others see that its holder is awake. What is stored never depends on it.

export interface LeaderPorts {
  locks: Pick<LockManager, 'request'> | undefined; // undefined: a browser without Web Locks
  say: (beat: 'beat') => void;
  now: () => number;
  changed: (isLeader: boolean) => void;
}

export const lockName = 'hoppertally-sync';
export const beatMs = 2_000;
export const staleMs = 6_000; // three beats missed: the leader sleeps or hangs

export class Leader {
  readonly #ports: LeaderPorts;
  #isLeader = false;
  #isVisible = true;
  #isStopped = true;
  #lastBeat = 0;
  #release: (() => void) | null = null;
  #turn = 0; // only the newest request for the lock counts

  constructor(ports: LeaderPorts) {
    this.#ports = ports;
  }

  get isLeader(): boolean {
    return this.#isLeader;
  }

  start(): void {
    this.#isStopped = false;
    this.#lastBeat = this.#ports.now();
    this.#request(false);
  }

  // stop gives the lock up, for a page that goes to sleep.
  stop(): void {
    this.#isStopped = true;
    this.#turn++;
    this.#release?.();
    this.#release = null;
    this.#set(false);
  }

  heard(): void {
    this.#lastBeat = this.#ports.now();
  }

  setVisible(isVisible: boolean): void {
    this.#isVisible = isVisible;
  }

  // tick beats, or takes the lock from a leader that no longer does. Call it every
  // beatMs.
  tick(): void {
    if (this.#isStopped) return;
    if (this.#isLeader) {
      this.#ports.say('beat');
      return;
    }
    if (this.#isVisible && this.#ports.now() - this.#lastBeat > staleMs) {
      this.#lastBeat = this.#ports.now();
      this.#request(true);
    }
  }

  #request(steal: boolean): void {
    const { locks } = this.#ports;
    if (locks === undefined) {
      this.#set(true); // nobody to agree with; the store keeps two leaders harmless
      return;
    }
    const turn = ++this.#turn;
    const hold = () => {
      if (turn !== this.#turn) return Promise.resolve();
      return new Promise<void>((release) => {
        this.#release = release;
        this.#set(true);
        this.#ports.say('beat');
      });
    };
    const options: LockOptions = steal ? { steal: true } : {};
    locks
      .request(lockName, options, hold)
      .catch(() => undefined)
      .then(() => {
        if (turn !== this.#turn) return;
        this.#set(false); // taken by another window
        if (!this.#isStopped) this.#request(false);
      });
  }

  #set(isLeader: boolean): void {
    if (this.#isLeader === isLeader) return;
    this.#isLeader = isLeader;
    this.#lastBeat = this.#ports.now();
    this.#ports.changed(isLeader);
  }
}
