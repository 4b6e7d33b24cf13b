// What a person recorded on this phone, sent before their session ends.

import type { News } from './news';
import type { Shelf } from './shelf';

const mostMs = 4_000; // then it waits here by name, as without a network
const lookMs = 100;

export interface SendOffPorts {
  shelf: Pick<Shelf, 'reread'>;
  news: Pick<News, 'status'>;
  now: () => number; // ms
  sync: () => void; // has this phone's sync try at once
}

// sendOff waits until nothing of a person's is unsent, there is no network, or it takes
// too long. It does not reject.
export async function sendOff(p: SendOffPorts, person: string): Promise<void> {
  const end = p.now() + mostMs;
  try {
    for (let nth = 0; p.now() < end; nth++) {
      const { own } = await p.shelf.reread();
      if (!own.some((row) => row.by === person && row.mark === '')) return;
      if ((await p.news.status()).online === 'no') return;
      if (nth === 0) p.sync();
      await new Promise((resolve) => setTimeout(resolve, lookMs));
    }
  } catch {
    // a store or core that fails keeps nobody from leaving
  }
}
