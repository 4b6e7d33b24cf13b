// A shop that has worked for years, for the tests and the bench of a new phone.
import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { binary } from './lib.mjs';

// historyShop serves an invented shop that has worked for years. code gives a fresh
// sign-in code for somebody; view and push speak with the server as a manager of their
// own, beside every browser.
export async function historyShop(entries, years, data = mkdtempSync(join(tmpdir(), 'history-')), phones = 1) {
  const root = fileURLToPath(new URL('../..', import.meta.url));
  if (!existsSync(join(data, 'head')))
    execFileSync(
      'go',
      ['run', './server/history', '--data', data, '--entries', String(entries), '--years', String(years)],
      { cwd: root, stdio: 'inherit' },
    );
  const codes = {};
  for (const who of ['p-mia', 'p-mia', ...Array(phones).fill('p-ana')]) {
    const text = execFileSync(binary(), ['person', '--data', data, 'invite', who], { encoding: 'utf8' });
    (codes[who] ??= []).push(/\b[0-9A-Z]{4}(?:-[0-9A-Z]{4})+\b/.exec(text)[0]);
  }
  // p-ana has chosen a passphrase long ago: on a new phone her name and that will do.
  const passphrase = 'four words of the history';
  execFileSync(binary(), ['person', '--data', data, 'passphrase', 'p-ana'], {
    input: passphrase + '\n',
    stdio: ['pipe', 'ignore', 'inherit'],
  });
  const child = spawn(binary(), ['serve', '--data', data, '--addr', '127.0.0.1:0'], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let text = '';
  const url = await new Promise((ok, no) => {
    child.stdout.on('data', (chunk) => {
      text += chunk;
      const m = /(http:\/\/[^\s/,]+)[\s/,]/.exec(text);
      if (m) ok(m[1]);
    });
    child.once('exit', (code) => no(new Error(`serve ended with ${code}`)));
  });
  const ask = async (path, init = {}) => {
    const answer = await fetch(url + '/api/v1/' + path, init);
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
    return answer.json();
  };
  const json = (body, access) => ({
    method: 'POST',
    body: JSON.stringify(body),
    headers: { 'Content-Type': 'application/json', ...(access ? { Authorization: 'Bearer ' + access } : {}) },
  });
  const device = 'outside',
    { access } = await ask('session', json({ code: codes['p-mia'].pop(), device, app_version: '1' }));
  let n = 0;
  return {
    url,
    data,
    pid: child.pid,
    passphrase,
    code: (who) => codes[who].pop(),
    view: (name, query = '') =>
      ask(`export/${name}.json?units=metric&lang=en${query}`, { headers: { Authorization: 'Bearer ' + access } }),
    push: (by, kind, body, atMs) => {
      const now = Date.now(),
        id = `0190${Math.random().toString(16).slice(2, 10).padEnd(8, '0')}`;
      const entry = {
        id: `${id.slice(0, 8)}-${id.slice(8, 12)}-7000-8000-${String(++n).padStart(12, '0')}`,
        kind,
        v: 1,
        by,
        device,
        n,
        at: new Date(atMs).toISOString(),
        clock: { wall_ms: now, mono_ms: 1, segment: 's' },
        body,
      };
      return ask('push', json({ now: { wall_ms: now, mono_ms: 1, segment: 's' }, entries: [entry] }, access)).then(
        ({ results: [r] }) => {
          if (r.outcome !== 'accepted') throw new Error(`${kind}: ${r.outcome} ${r.reason}`);
          return r;
        },
      );
    },
    stop: () =>
      new Promise((ok) => {
        if (child.exitCode !== null) return ok();
        child.once('exit', ok);
        child.kill('SIGTERM');
      }),
    async close() {
      await this.stop();
      rmSync(data, { recursive: true, force: true });
    },
  };
}

// openCounter passes everything on to a server and counts the bytes that come back for
// the books (snapshot and log), headers aside.
export async function openCounter(url) {
  const gate = { bytes: 0 };
  const server = http.createServer((req, res) => {
    const counts = /^\/api\/v1\/(snapshot|pull)/.test(req.url);
    const up = http.request(url + req.url, { method: req.method, headers: req.headers }, (answer) => {
      res.writeHead(answer.statusCode, answer.headers);
      res.flushHeaders();
      if (counts)
        answer.on('data', (chunk) => {
          gate.bytes += chunk.length;
        });
      answer.pipe(res);
    });
    up.on('error', () => res.destroy());
    res.on('close', () => up.destroy());
    req.pipe(up);
  });
  await new Promise((ok) => server.listen(0, 'localhost', ok));
  gate.url = `http://localhost:${server.address().port}`;
  gate.close = () =>
    new Promise((ok) => {
      server.closeAllConnections();
      server.close(ok);
    });
  return gate;
}
