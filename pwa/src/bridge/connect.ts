// Ties the client to this page: a real worker, the page's visibility, its sleep in
// the back/forward cache. The app calls connect() once.

import type { FromWorker, ToWorker } from '../shared/messages';
import type { Core } from './api';
import { Client, coreOver, type Port } from './client';

export function openWorker(address: string = __WORKER__): Port {
  const worker = new Worker(address, { type: 'module', name: 'books' });
  return {
    post: (message: ToWorker) => worker.postMessage(message),
    listen: (onMessage, onDeath) => {
      worker.onmessage = (e: MessageEvent<FromWorker>) => onMessage(e.data);
      worker.onmessageerror = () => onDeath('unreadable message');
      worker.onerror = (e) => {
        e.preventDefault();
        onDeath(e.message || 'worker failed to start');
      };
    },
    close: () => worker.terminate(),
  };
}

// connect starts the worker and gives the core. Without WebAssembly (as in the
// iPhone's Lockdown Mode) it throws, and the app has to say so.
export function connect(): Core {
  if (typeof WebAssembly === 'undefined') throw new Error('no WebAssembly in this browser');
  const client = new Client({
    open: () => openWorker(),
    newRequest: () => crypto.randomUUID(),
    silenceMs: 10_000,
    graceMs: 4_000,
    restartsMax: 5,
  });
  setInterval(() => client.watch(), 1_000);
  const look = () => client.send({ type: 'visible', isVisible: document.visibilityState === 'visible' });
  document.addEventListener('visibilitychange', look);
  // What the browser says of the network is a hint to ask our server, in both directions.
  for (const hint of ['online', 'offline']) window.addEventListener(hint, () => client.send({ type: 'sync' }));
  for (const use of ['pointerdown', 'keydown'])
    window.addEventListener(use, () => client.send({ type: 'touched' }), { capture: true, passive: true });
  window.addEventListener('pagehide', () => client.send({ type: 'sleep' }));
  window.addEventListener('pageshow', (e) => {
    if (e.persisted) client.send({ type: 'wake' });
  });
  if (document.visibilityState !== 'visible') look();
  return coreOver(client);
}

// askToPersist asks the browser not to throw the books away; true when it agreed.
// Call it after the app was installed or a sync has worked: the answer is better then.
export async function askToPersist(): Promise<boolean> {
  try {
    return (await navigator.storage?.persist?.()) ?? false;
  } catch {
    return false;
  }
}
