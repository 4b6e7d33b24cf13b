// Keeps the page's program up to date: registers the service worker and tells the
// app when a new version waits. The app decides when to take it.

export interface Update {
  // apply switches to the waiting version and reloads this page once it rules.
  apply(): void;
}

export interface ShellPorts {
  onUpdate: (update: Update) => void; // a new version is whole on this phone and waits
  onStuck: (file: string) => void; // one could not be installed for want of a file; "": one could
}

// registerShell without service workers (an insecure address) resolves to false.
export async function registerShell({ onUpdate, onStuck }: ShellPorts): Promise<boolean> {
  if (!('serviceWorker' in navigator)) return false;
  // Asked before registering: in WebKit the first install's "installed" may come after
  // the worker has taken the page over, so "a controller exists" then says nothing.
  const wasControlled = navigator.serviceWorker.controller !== null;
  navigator.serviceWorker.addEventListener('message', (e: MessageEvent<unknown>) => {
    const m = e.data;
    if (typeof m === 'object' && m !== null && 'stuck' in m && typeof m.stuck === 'string') onStuck(m.stuck);
  });
  navigator.serviceWorker.startMessages();
  let registration: ServiceWorkerRegistration;
  try {
    registration = await navigator.serviceWorker.register('/sw.js', { scope: '/', updateViaCache: 'none' });
  } catch {
    return false;
  }
  let isTaken = false;
  const first =
    wasControlled || registration.active !== null ? null : (registration.installing ?? registration.waiting); // the first on this phone asks nothing
  const offer = () => {
    if (registration.waiting === null || registration.waiting === first) return;
    onUpdate({
      apply: () => {
        isTaken = true;
        registration.waiting?.postMessage('take over');
      },
    });
  };
  // rules: a version does, and the files of this page are gone. Another window has taken it.
  const rules = () => {
    if (isTaken) location.reload();
    else onUpdate({ apply: () => location.reload() });
  };
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if (isTaken || (wasControlled && navigator.serviceWorker.controller !== first)) rules();
  });
  registration.addEventListener('updatefound', () => {
    const incoming = registration.installing;
    incoming?.addEventListener('statechange', () => {
      if (incoming.state === 'installed') offer();
      // For a page that came before the first version was installed no version waits, or not for long.
      if (incoming.state === 'activated' && incoming !== first && navigator.serviceWorker.controller === null) rules();
    });
  });
  offer();
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') registration.update().catch(() => undefined);
  });
  return true;
}

// lookForUpdate asks the server for a newer version now; offline it does nothing.
export async function lookForUpdate(): Promise<void> {
  const registration = await navigator.serviceWorker?.getRegistration();
  await registration?.update().catch(() => undefined);
}
