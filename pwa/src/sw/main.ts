// The service worker serves the shell and nothing else. One cache per build, filled
// whole and checked file by file, so half a deploy is never installed; a new build
// takes over only when the person asked for it.

export {};
declare const self: ServiceWorkerGlobalScope;
declare const __SHELL__: readonly (readonly [address: string, sha256: string])[];
declare const __BUILD__: string;

const prefix = 'shell-';
const cacheName = prefix + __BUILD__;
const keyOf = (address: string, sha256: string) => `${address}?sha256=${encodeURIComponent(sha256)}`;
const keys = new Map(__SHELL__.map(([address, sha256]) => [address, keyOf(address, sha256)]));

// tell reaches the windows that this worker does not control yet, too.
async function tell(stuck: string): Promise<void> {
  for (const page of await self.clients.matchAll({ type: 'window', includeUncontrolled: true }))
    page.postMessage({ stuck });
}

async function fill(): Promise<void> {
  const cache = await caches.open(cacheName);
  const older = (await caches.keys()).filter((name) => name.startsWith(prefix) && name !== cacheName);
  let stuck = '';
  await Promise.all(
    __SHELL__.map(([address, sha256]) =>
      keep(address, sha256).catch((e: unknown) => {
        stuck = address;
        throw e;
      }),
    ),
  ).catch(async (e: unknown) => {
    await tell(stuck); // or the old version stays for good and nobody knows
    throw e;
  });
  await tell('');

  async function keep(address: string, sha256: string): Promise<void> {
    const key = keyOf(address, sha256);
    if (await cache.match(key)) return; // an install that was cut off goes on
    for (const name of older) {
      const same = await (await caches.open(name)).match(key);
      if (same) return cache.put(key, same); // unchanged since the last build
    }
    const answer = await fetch(address, {
      cache: 'no-cache',
      credentials: 'same-origin',
      redirect: 'error',
      integrity: 'sha256-' + sha256,
    });
    if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
    await cache.put(key, answer);
  }
}

// isServers tells which addresses are the server's own, never the shell's.
function isServers(path: string): boolean {
  return (
    path.startsWith('/api/') ||
    path.startsWith('/trust') ||
    ['/sw.js', '/healthz', '/readyz', '/metrics'].includes(path)
  );
}

self.addEventListener('install', (e) => e.waitUntil(fill()));

self.addEventListener('activate', (e) =>
  e.waitUntil(
    (async () => {
      for (const name of await caches.keys())
        if (name.startsWith(prefix) && name !== cacheName) await caches.delete(name);
    })(),
  ),
);

self.addEventListener('message', (e) => {
  if (e.data === 'take over') e.waitUntil(self.skipWaiting());
});

self.addEventListener('fetch', (e) => {
  const address = new URL(e.request.url);
  if (e.request.method !== 'GET' || address.origin !== self.location.origin) return;
  if (isServers(address.pathname)) return;
  const key = keys.get(address.pathname) ?? (e.request.mode === 'navigate' ? keys.get('/index.html') : undefined);
  if (key === undefined) return;
  e.respondWith((async () => (await (await caches.open(cacheName)).match(key)) ?? fetch(e.request))());
});
