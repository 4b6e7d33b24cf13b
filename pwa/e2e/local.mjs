// A shop under a root of its own, and ways for a browser to trust it.
import { execFileSync, spawn } from 'node:child_process';
import { createHash, X509Certificate } from 'node:crypto';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import https from 'node:https';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { binary, onItsPort, openShop, patienceMs } from './lib.mjs';

const top = resolve(import.meta.dirname, '../..');
export const name = 'hopper.lan',
  address = '192.168.77.20'; // led to this machine by the browsers

// openLocal serves the invented shop with --https local. at(host) is an address of it.
export async function openLocal() {
  const demo = await openShop(); // fills the folder; its sign-in codes go on working
  await demo.stop();
  const shop = {
    codes: demo.codes,
    port: 0,
    trust: '',
    text: '',
    root: join(demo.data, 'https', 'root.crt'),
    folder: join(demo.data, 'https'),
  };
  let child = null;
  shop.at = (host) => `https://${host}:${shop.port}`;
  const begin = async () => {
    child = spawn(
      binary(),
      [
        'serve',
        '--https',
        'local',
        '--data',
        demo.data,
        '--addr',
        `127.0.0.1:${shop.port}`,
        '--trust-addr',
        '127.0.0.1:0',
        '--host',
        name,
        '--host',
        address,
        '--log',
        'warn',
      ],
      { stdio: ['ignore', 'pipe', 'pipe'] },
    );
    shop.text = '';
    await new Promise((ok, no) => {
      const more = (chunk) => {
        shop.text += chunk;
        if (/SHA-256 .*\n.*\n/.test(shop.text)) ok();
      };
      child.stdout.on('data', more);
      child.stderr.on('data', more);
      child.once('exit', (code) => no(new Error(`the shop ended with ${code}: ${shop.text}`)));
    });
    shop.port = Number(/is at https:\/\/[^:]+:(\d+)/.exec(shop.text)[1]);
    shop.trust = `http://127.0.0.1:${/http:\/\/[^:]+:(\d+)\/trust\//.exec(shop.text)[1]}/trust/`;
  };
  shop.start = () => onItsPort(begin);
  shop.stop = () =>
    new Promise((ok) => {
      if (child === null || child.exitCode !== null || child.signalCode !== null) return ok();
      child.once('exit', ok);
      child.kill('SIGTERM');
    });
  // says waits until the terminal shows words.
  shop.says = async (words) => {
    for (const end = Date.now() + patienceMs; !shop.text.includes(words); await new Promise((ok) => setTimeout(ok, 20)))
      if (Date.now() > end) throw new Error(`${words}: not in ${shop.text}`);
  };
  shop.close = async () => {
    await shop.stop();
    rmSync(demo.data, { recursive: true, force: true });
  };
  await shop.start();
  return shop;
}

function has(program) {
  try {
    execFileSync(program, ['-H'], { stdio: 'ignore' });
    return true;
  } catch (e) {
    return e.code !== 'ENOENT';
  }
}
// certutil puts a root where Chromium and Firefox look for trusted ones (NSS).
export const hasCertutil = has('certutil');

const rules = `--host-resolver-rules=MAP ${name} 127.0.0.1, MAP ${address} 127.0.0.1, MAP www.example.com 127.0.0.1`;

// trusting gives what Chromium is to be started with so that it trusts a root: a home
// folder whose store holds it, or, without certutil, the root's key by its hash.
export function trusting(root) {
  if (!hasCertutil) {
    const key = new X509Certificate(readFileSync(root)).publicKey.export({ type: 'spki', format: 'der' });
    return {
      args: [rules, '--ignore-certificate-errors-spki-list=' + createHash('sha256').update(key).digest('base64')],
      end: () => undefined,
    };
  }
  const home = mkdtempSync(join(tmpdir(), 'home-')),
    store = join(home, '.pki', 'nssdb');
  mkdirSync(store, { recursive: true });
  execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password']);
  execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'shop', '-i', root]);
  return {
    args: [rules],
    env: { ...process.env, HOME: home },
    end: () => rmSync(home, { recursive: true, force: true, maxRetries: 5 }),
  };
}

export const strangers = { args: [rules] }; // a browser that trusts nothing of ours

// forge serves any host with a certificate that a thief of the root's key would make.
export async function forge(folder, host) {
  const pem = execFileSync('go', ['run', './server/https/forge', folder, host], { cwd: top });
  const server = https.createServer({ cert: pem, key: pem }, (_, res) => res.end('forged'));
  await new Promise((ok) => server.listen(0, '127.0.0.1', ok));
  return {
    port: server.address().port,
    close: () =>
      new Promise((ok) => {
        server.closeAllConnections();
        server.close(ok);
      }),
  };
}
