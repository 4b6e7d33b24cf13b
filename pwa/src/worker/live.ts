// The stream of pokes: it says only how far the server's log goes.

import { EventReader } from '../shared/sse';

const silenceMs = 60_000; // the server beats more often; a stream this quiet is dead

export interface LiveEnds {
  opened: () => void;
  poked: (head: number) => void;
  closed: () => void;
}

export class Live {
  #abort: AbortController | null = null;
  readonly #open: (signal: AbortSignal) => Promise<ReadableStream<Uint8Array> | null>;

  constructor(open: (signal: AbortSignal) => Promise<ReadableStream<Uint8Array> | null>) {
    this.#open = open;
  }

  // open starts the stream; closed is called once when it ends by itself.
  open(ends: LiveEnds): void {
    this.close();
    const abort = new AbortController();
    this.#abort = abort;
    void this.#run(abort, ends)
      .catch(() => undefined)
      .finally(() => {
        if (this.#abort !== abort) return; // closed on purpose
        this.#abort = null;
        abort.abort();
        ends.closed();
      });
  }

  close(): void {
    const abort = this.#abort;
    this.#abort = null;
    abort?.abort();
  }

  async #run(abort: AbortController, ends: LiveEnds): Promise<void> {
    let watch = setTimeout(() => abort.abort(), silenceMs);
    const heard = () => {
      clearTimeout(watch);
      watch = setTimeout(() => abort.abort(), silenceMs);
    };
    try {
      const stream = await this.#open(abort.signal);
      if (stream === null) return;
      ends.opened();
      const reader = stream.getReader(),
        events = new EventReader(),
        text = new TextDecoder();
      for (;;) {
        const { done, value } = await reader.read();
        if (done) return;
        heard();
        for (const data of events.take(text.decode(value, { stream: true }))) {
          const head = headOf(data);
          if (head !== null && this.#abort === abort) ends.poked(head);
        }
      }
    } finally {
      clearTimeout(watch);
    }
  }
}

// headOf reads {"head": n}; null for anything else.
export function headOf(data: string): number | null {
  try {
    const head = (JSON.parse(data) as { head?: unknown }).head;
    return typeof head === 'number' && Number.isSafeInteger(head) && head >= 0 ? head : null;
  } catch {
    return null;
  }
}
