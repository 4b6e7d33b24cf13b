// Looks at what this browser can do. Every probe ends, whatever the browser does.

import { airplaneOf, type Facts } from './check';

const patienceMs = 4000;
const trialKey = 'airplane-trial';

// within gives another answer when a promise fails or takes too long.
function within<T>(work: Promise<T>, otherwise: T): Promise<T> {
  return Promise.race([
    work,
    new Promise<T>((ok) => {
      setTimeout(() => ok(otherwise), patienceMs);
    }),
  ]).catch(() => otherwise);
}

export async function probe(): Promise<Facts> {
  const [worker, storage, wasm, persist, camera, airplane] = await Promise.all([
    findWorker(),
    tryStorage(),
    tryWasm(),
    isPersisted(),
    findCamera(),
    judgeTrial(),
  ]);
  return { secure: window.isSecureContext, worker, storage, wasm, persist, installed: isInstalled(), camera, airplane };
}

async function findWorker(): Promise<Facts['worker']> {
  if (!('serviceWorker' in navigator)) return 'unsupported';
  if (navigator.serviceWorker.controller !== null) return 'rules';
  const registration = await within(
    navigator.serviceWorker.ready.then((r): ServiceWorkerRegistration | null => r),
    null,
  );
  return registration === null ? 'none' : 'ready';
}

// tryStorage opens a store of its own, writes, reads back and deletes it.
function tryStorage(): Promise<Facts['storage']> {
  if (typeof indexedDB === 'undefined') return Promise.resolve('unsupported');
  const name = 'check-' + Math.random().toString(36).slice(2);
  const work = new Promise<Facts['storage']>((ok) => {
    const open = indexedDB.open(name, 1);
    open.onupgradeneeded = () => {
      open.result.createObjectStore('s');
    };
    open.onerror = () => ok('fails');
    open.onsuccess = () => {
      const db = open.result,
        write = db.transaction('s', 'readwrite', { durability: 'strict' });
      const end = (answer: Facts['storage']) => {
        db.close();
        indexedDB.deleteDatabase(name);
        ok(answer);
      };
      write.objectStore('s').put(new Uint8Array([7]), 'k');
      write.onerror = write.onabort = () => end('fails');
      write.oncomplete = () => {
        const read = db.transaction('s').objectStore('s').get('k');
        read.onerror = () => end('fails');
        read.onsuccess = () => end((read.result as Uint8Array | undefined)?.[0] === 7 ? 'works' : 'fails');
      };
    };
  });
  return within(work, 'fails');
}

// tryWasm compiles the smallest module there is: its magic number and version.
async function tryWasm(): Promise<boolean> {
  if (typeof WebAssembly === 'undefined') return false;
  return within(
    WebAssembly.compile(new Uint8Array([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0])).then(() => true),
    false,
  );
}

const persists = () => typeof navigator.storage !== 'undefined' && typeof navigator.storage.persist === 'function';

async function isPersisted(): Promise<Facts['persist']> {
  if (!persists()) return 'unsupported';
  return (await within(navigator.storage.persisted(), false)) ? 'granted' : 'refused';
}

// askToPersist asks the browser to keep the storage; some ask the person, most decide alone.
export async function askToPersist(): Promise<Facts['persist']> {
  if (!persists()) return 'unsupported';
  return (await navigator.storage.persist().catch(() => false)) ? 'granted' : 'refused';
}

// findCamera asks for no permission: it only counts.
async function findCamera(): Promise<Facts['camera']> {
  if (navigator.mediaDevices === undefined) return 'unsupported';
  const all = await within(navigator.mediaDevices.enumerateDevices(), []);
  return all.some((d) => d.kind === 'videoinput') ? 'there' : 'none';
}

function isInstalled(): boolean {
  return (
    window.matchMedia('(display-mode: standalone)').matches ||
    ('standalone' in navigator && navigator.standalone === true)
  );
}

// startTrial loads the page anew, to see whether it comes without a network.
export function startTrial(): void {
  sessionStorage.setItem(trialKey, 'asked');
  location.reload();
}

async function judgeTrial(): Promise<Facts['airplane']> {
  const asked = readTrial();
  if (!asked) return 'todo';
  const answers = await fetch('/healthz', { cache: 'no-store', signal: AbortSignal.timeout(patienceMs) }).then(
    () => true,
    () => false,
  );
  return airplaneOf(asked, answers, navigator.serviceWorker?.controller != null);
}

// readTrial tells whether this load is a trial. It stays one until the tab is closed,
// so that changing to another screen and back keeps the result.
function readTrial(): boolean {
  try {
    return sessionStorage.getItem(trialKey) === 'asked';
  } catch {
    return false;
  }
}
