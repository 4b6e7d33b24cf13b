// Firefox as it comes, driven over Marionette: its own remote protocol on a plain
// socket, messages of "length:json" that carry WebDriver's commands (Firefox Source
// Docs, "Marionette protocol"). It needs no program between and no package.
import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import net from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { session } from './driver.mjs';

export const firefox = ['/usr/bin/firefox-esr', '/usr/bin/firefox'].find((p) => existsSync(p));

// What a browser does by itself would only disturb; localDomains leads names here.
const prefs = (hosts) => ({
  'marionette.port': 0,
  'network.dns.localDomains': hosts.join(','),
  'intl.locale.requested': 'en-US',
  'intl.accept_languages': 'en-US',
  'network.captive-portal-service.enabled': false,
  'network.connectivity-service.enabled': false,
  'app.update.enabled': false,
  'browser.shell.checkDefaultBrowser': false,
  'datareporting.policy.dataSubmissionEnabled': false,
  'toolkit.telemetry.enabled': false,
  'browser.safebrowsing.malware.enabled': false,
  'browser.safebrowsing.phishing.enabled': false,
  'browser.safebrowsing.downloads.remote.enabled': false,
  'extensions.update.enabled': false,
  'browser.aboutwelcome.enabled': false,
  'startup.homepage_welcome_url': '',
  'browser.startup.homepage': 'about:blank',
});

// openFirefox starts a browser on a profile of its own that trusts the given root, or
// nothing special without one.
export async function openFirefox({ root, hosts = [] } = {}) {
  const profile = mkdtempSync(join(tmpdir(), 'firefox-'));
  writeFileSync(
    join(profile, 'user.js'),
    Object.entries(prefs(hosts))
      .map(([k, v]) => `user_pref(${JSON.stringify(k)}, ${JSON.stringify(v)});`)
      .join('\n'),
  );
  if (root !== undefined) {
    execFileSync('certutil', ['-d', `sql:${profile}`, '-N', '--empty-password']);
    execFileSync('certutil', ['-d', `sql:${profile}`, '-A', '-t', 'C,,', '-n', 'shop', '-i', root]);
  }
  const child = spawn(firefox, ['--headless', '--marionette', '--no-remote', '--profile', profile], {
    stdio: 'ignore',
    env: { ...process.env, LANG: 'en_US.UTF-8', HOME: profile },
  });
  const port = await new Promise((ok, no) => {
    child.once('exit', (code) => no(new Error(`Firefox ended with ${code}`)));
    const end = Date.now() + 60_000;
    const look = () => {
      const file = join(profile, 'MarionetteActivePort');
      if (existsSync(file) && readFileSync(file, 'utf8').trim() !== '') return ok(Number(readFileSync(file, 'utf8')));
      if (Date.now() > end) return no(new Error('Firefox opened no port'));
      setTimeout(look, 100);
    };
    look();
  });
  const call = await connect(port);
  await call('WebDriver:NewSession', { capabilities: { alwaysMatch: {} } });
  const page = session({
    goto: (url) => call('WebDriver:Navigate', { url }),
    js: async (script, args) =>
      (await call('WebDriver:ExecuteAsyncScript', { script, args, scriptTimeout: 30_000 })).value,
    shot: async () => Buffer.from((await call('WebDriver:TakeScreenshot', { full: false })).value, 'base64'),
  });
  page.close = async () => {
    if (child.exitCode !== null || child.signalCode !== null) return;
    const ended = new Promise((ok) => child.once('exit', ok));
    await call('Marionette:Quit', { flags: ['eForceQuit'] }).catch(() => child.kill('SIGTERM'));
    await ended;
    rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
  };
  return page;
}

// connect gives a function that sends one command and waits for its answer.
async function connect(port) {
  const socket = net.connect(port, '127.0.0.1');
  await new Promise((ok, no) => {
    socket.once('connect', ok);
    socket.once('error', no);
  });
  const waiting = new Map();
  let bytes = Buffer.alloc(0),
    last = 0;
  socket.on('data', (chunk) => {
    bytes = Buffer.concat([bytes, chunk]);
    for (;;) {
      const colon = bytes.indexOf(':');
      if (colon < 0) return;
      const length = Number(bytes.subarray(0, colon).toString());
      if (bytes.length < colon + 1 + length) return;
      const message = JSON.parse(bytes.subarray(colon + 1, colon + 1 + length).toString());
      bytes = bytes.subarray(colon + 1 + length);
      if (!Array.isArray(message)) continue; // the greeting
      const [, id, error, value] = message,
        w = waiting.get(id);
      waiting.delete(id);
      if (error === null) w?.ok(value);
      else w?.no(new Error(`${error.error}: ${error.message}`));
    }
  });
  socket.on('close', () => {
    for (const w of waiting.values()) w.no(new Error('Firefox is gone'));
  });
  socket.on('error', () => undefined);
  return (name, params) =>
    new Promise((ok, no) => {
      const id = ++last,
        text = JSON.stringify([0, id, name, params]);
      waiting.set(id, { ok, no });
      socket.write(`${Buffer.byteLength(text)}:${text}`);
    });
}
