// The page of the storage and sync tests: the real bridge, worker and service
// worker under a page that shows nothing but a version and an update button.
import type { Status } from '../src/bridge/api';
import { connect } from '../src/bridge/connect';
import { lookForUpdate, registerShell, type Update } from '../src/bridge/shell';

const started = performance.now();

// Keeps every worker that is made, so that a test can kill one.
const workers: Worker[] = [];
const Real = window.Worker;
window.Worker = class extends Real {
  constructor(address: string | URL, options?: WorkerOptions) {
    super(address, options);
    workers.push(this);
  }
};

const core = connect();
const bench = {
  core,
  version: __VERSION__,
  status: null as Status | null,
  lookForUpdate,
  stuck: null as string | null,
  isHeld: false,
  isShell: registerShell({
    onUpdate: offer,
    onStuck: (file) => {
      bench.stuck = file;
      core.updateStuck(file);
    },
  }),
  readyMs: 0,
  workers,
  killWorker: () => workers.at(-1)?.terminate(),
};
(window as unknown as { bench: typeof bench }).bench = bench;
core.onChange((s) => {
  bench.status = s;
});
core.onHeld((isHeld) => {
  bench.isHeld = isHeld;
});

const app = document.getElementById('app');
function show(text: string): void {
  const p = document.createElement('p');
  p.textContent = text;
  app?.append(p);
}
show('version ' + __VERSION__);

function offer(update: Update): void {
  const button = document.createElement('button');
  button.textContent = 'Update';
  button.onclick = () => update.apply();
  app?.append(button);
}

core
  .boot()
  .then(() => core.view('booth', {}))
  .then((v) => {
    bench.readyMs = performance.now() - started;
    performance.mark('ready');
    show(`ready: ${v.booths.length} booths`);
    return core.text('mass', 1);
  })
  .then(
    () => {
      performance.mark('core'); // the core itself has answered
    },
    (p: { code: string; detail?: string }) => show(`problem: ${p.code} ${p.detail ?? ''}`),
  );
