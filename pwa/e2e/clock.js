// The clock of a phone's worker as a test sets it: its page tells how far ahead of the
// machine's it runs.
const real = Date.now.bind(Date);
let ahead = 0;
globalThis.Date = class extends Date {
  constructor(...args) {
    if (args.length === 0) super(real() + ahead);
    else super(...args);
  }
  static now() {
    return real() + ahead;
  }
};
const channel = new BroadcastChannel('clock-of-the-test');
channel.onmessage = (e) => {
  if (typeof e.data !== 'number') return;
  ahead = e.data;
  channel.postMessage('set');
};
channel.postMessage('started');
