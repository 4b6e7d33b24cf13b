import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { fileURLToPath } from 'node:url';
import { bodiesOf, op, past, sections } from './module.mjs';
import { straighten } from './straighten.mjs';

const here = fileURLToPath(new URL('.', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'straighten-'));
test.after(() => rmSync(folder, { recursive: true }));
const goroot = execFileSync('go', ['env', 'GOROOT']).toString().trim();

function compiled(flags) {
  const file = join(folder, 'ways.wasm');
  const env = { ...process.env, GOOS: 'js', GOARCH: 'wasm' };
  execFileSync('go', ['build', `-ldflags=${flags}`, '-o', file, './testdata/ways'], { cwd: here, env });
  return readFileSync(file);
}

// run gives what the program says, and how it ends.
function run(module, ...args) {
  const file = join(folder, 'run.wasm');
  writeFileSync(file, module);
  const { stdout, stderr, status } = spawnSync('node', ['--stack-size=8192', join(goroot, 'lib/wasm/wasm_exec_node.js'), file, ...args]);
  return { said: stdout.toString(), failed: stderr.toString(), status };
}

function tablesIn(b) {
  let n = 0;
  for (const { code, to } of bodiesOf(b, sections(b).find((s) => s.id === 10))) {
    for (let i = code; i < to; i = past(b, i)) n += b[i] === op.brTable;
  }
  return n;
}

// jumpsToTable counts the places where local 0 is given a number other than 0.
function jumpsToTable(b) {
  let n = 0;
  for (const { code, to } of bodiesOf(b, sections(b).find((s) => s.id === 10))) {
    for (let i = code; i < to; i = past(b, i)) n += b[i] === op.i32Const && b[i + 1] !== 0 && b[past(b, i)] === op.localSet && b[past(b, i) + 1] === 0;
  }
  return n;
}

test('a straightened program says what it says natively, and of a panic what it said before', () => {
  const was = compiled('-w'), told = {}, is = straighten(was, told);
  if (told.unknown !== undefined) return; // the next test holds for all others
  assert.ok(told.functions > 500 && told.left * 100 < told.functions, `${told.left} of ${told.functions} functions were left as they are`);
  assert.ok(is.length < was.length);
  assert.ok(jumpsToTable(is) * 50 < jumpsToTable(was), `${jumpsToTable(is)} of ${jumpsToTable(was)} jumps go through a table`);
  assert.ok(tablesIn(is) > 0);
  const natively = execFileSync('go', ['run', './testdata/ways'], { cwd: here }).toString();
  assert.match(natively, /^3 1005 4\neo o eoeo oeoeo\n/);
  assert.deepEqual(run(is), { said: natively, failed: '', status: 0 });
  const lines = ({ failed }) => failed.split('\n').filter((l) => /^(panic|main\.|goroutine|\[signal)|main\.go/.test(l));
  const fell = run(is, 'fall');
  assert.equal(fell.status, 2);
  assert.deepEqual(lines(fell), lines(run(was, 'fall')));
});

test('what another compiler has made stays as it is, but for its names', () => {
  const was = compiled('-w'), told = {}, from = was.indexOf('Go cmd/compile') + 'Go cmd/compile'.length + 1;
  was.write('go9', from);
  const is = straighten(was, told);
  assert.match(told.unknown, /^go9/);
  assert.equal(jumpsToTable(is), jumpsToTable(was));
  assert.equal(run(is).said, execFileSync('go', ['run', './testdata/ways'], { cwd: here }).toString());
});

test('a program without names is refused', () => {
  assert.throws(() => straighten(compiled('-s -w')), /no names/);
});
