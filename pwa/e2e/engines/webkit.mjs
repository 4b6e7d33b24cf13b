// WebKit as Debian builds it: WebKitWebDriver and its MiniBrowser, over plain WebDriver
// (W3C Recommendation "WebDriver"). It needs a display; xvfb-run gives it one.
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import net from 'node:net';
import { session } from './driver.mjs';

const mini = [
  '/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser',
  '/usr/lib/aarch64-linux-gnu/webkit2gtk-4.1/MiniBrowser',
].find((p) => existsSync(p));
export const webkit =
  mini !== undefined && existsSync('/usr/bin/WebKitWebDriver') && existsSync('/usr/bin/xvfb-run') ? mini : undefined;

const freePort = () =>
  new Promise((ok) => {
    const s = net.createServer().listen(0, '127.0.0.1', () => {
      const { port } = s.address();
      s.close(() => ok(port));
    });
  });

// openWebKit starts a browser whose storage goes with it. trusts lets it take any
// certificate: it has no store of roots of its own to put ours into.
export async function openWebKit({ trusts }) {
  const port = await freePort();
  // A locale that Intl takes as a language tag; it need not be installed.
  const child = spawn('xvfb-run', ['-a', '-s', '-screen 0 1280x900x24', 'WebKitWebDriver', '-p', String(port)], {
    stdio: 'ignore',
    env: { ...process.env, LANG: 'en_US.UTF-8' },
    detached: true,
  });
  const call = async (method, path, body) => {
    const answer = await fetch(`http://127.0.0.1:${port}${path}`, {
      method,
      ...(body === undefined ? {} : { body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } }),
    });
    const { value } = await answer.json();
    if (value?.error) throw new Error(`${value.error}: ${value.message}`);
    return value;
  };
  for (const end = Date.now() + 30_000; ;) {
    if (
      await call('GET', '/status').then(
        () => true,
        () => false,
      )
    )
      break;
    if (Date.now() > end) throw new Error('WebKitWebDriver did not come up');
    await new Promise((ok) => setTimeout(ok, 100));
  }
  const { sessionId } = await call('POST', '/session', {
    capabilities: {
      alwaysMatch: {
        acceptInsecureCerts: trusts,
        'webkitgtk:browserOptions': {
          binary: mini,
          args: ['--automation', '--full-screen', '--features=+StorageAPI,+StorageAPIEstimate'],
        },
      },
    },
  });
  const at = `/session/${sessionId}`;
  await call('POST', `${at}/timeouts`, { script: 30_000, pageLoad: 60_000 });
  await call('POST', `${at}/window/rect`, { x: 0, y: 0, width: 390, height: 844 });
  const page = session({
    goto: (url) => call('POST', `${at}/url`, { url }),
    js: (script, args) => call('POST', `${at}/execute/async`, { script, args }),
    shot: async () => Buffer.from(await call('GET', `${at}/screenshot`), 'base64'),
  });
  page.close = async () => {
    if (child.exitCode !== null || child.signalCode !== null) return;
    await call('DELETE', at).catch(() => undefined);
    const ended = new Promise((ok) => child.once('exit', ok));
    process.kill(-child.pid, 'SIGTERM'); // xvfb-run, the display and the driver: a group of our own
    await ended;
  };
  return page;
}
