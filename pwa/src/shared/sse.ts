// Reads a stream of server-sent events (WHATWG HTML, "Server-sent events"),
// keeping only each event's data: the live stream says nothing else.

const dataMax = 64_000; // characters of one event; a stream that exceeds it is not ours

export class EventReader {
  #rest = '';
  #data: string[] = [];
  #isStart = true;

  // take gives the data of the events that this piece of text completes. It throws
  // a RangeError when an event grows beyond dataMax.
  take(text: string): string[] {
    if (this.#isStart && text.length > 0) {
      this.#isStart = false;
      if (text.startsWith('\uFEFF')) text = text.slice(1);
    }
    const events: string[] = [];
    const whole = this.#rest + text;
    // A carriage return at the very end may be half of a line end: it waits.
    const end = whole.endsWith('\r') ? whole.length - 1 : whole.length;
    const lines = whole.slice(0, end).split(/\r\n|\n|\r/);
    this.#rest = (lines.pop() ?? '') + whole.slice(end);
    for (const line of lines) {
      if (line === '') {
        if (this.#data.length > 0) events.push(this.#data.join('\n'));
        this.#data = [];
      } else if (line.startsWith('data:')) {
        this.#data.push(line.slice(line.startsWith('data: ') ? 6 : 5));
      } else if (line === 'data') {
        this.#data.push('');
      }
    }
    if (this.#rest.length + this.#data.reduce((n, d) => n + d.length, 0) > dataMax)
      throw new RangeError('event too large');
    return events;
  }
}
