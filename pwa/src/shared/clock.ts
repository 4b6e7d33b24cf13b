// The clock triple that every entry carries.

export interface Reading {
  wall_ms: number; // Unix milliseconds as the phone believes
  mono_ms: number; // milliseconds that nobody can set back, within one segment
  segment: string; // names the unbroken stretch of mono_ms
}

// A jump of the wall clock against the monotonic one larger than this ends a
// segment: somebody set the clock, or the phone slept and the monotonic clock
// with it. Which of the two cannot be told, so nothing is computed across it.
export const jumpMs = 2_000;

export interface ClockSources {
  wall: () => number;
  mono: () => number;
  newSegment: () => string;
}

export class Clock {
  readonly #from: ClockSources;
  #segment: string;
  #gap: number; // wall - mono at the last reading

  constructor(from: ClockSources) {
    this.#from = from;
    this.#segment = from.newSegment();
    this.#gap = from.wall() - from.mono();
  }

  read(): Reading {
    const wall = this.#from.wall(),
      mono = this.#from.mono();
    if (Math.abs(wall - mono - this.#gap) > jumpMs) this.#segment = this.#from.newSegment();
    this.#gap = wall - mono;
    return { wall_ms: Math.round(wall), mono_ms: Math.max(0, Math.floor(mono)), segment: this.#segment };
  }
}
