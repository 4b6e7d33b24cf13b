import assert from 'node:assert/strict';
import { test } from 'node:test';
import { en } from '../i18n/en';
import { es } from '../i18n/es';
import { airplaneOf, grade, probes, whole, type Facts } from './check';

const best: Facts = {
  secure: true,
  worker: 'rules',
  storage: 'works',
  wasm: true,
  persist: 'granted',
  installed: true,
  camera: 'there',
  airplane: 'works',
};

test('a phone where everything is as it should be is ready', () => {
  for (const p of probes) assert.equal(grade(p, best), 'good', p);
  assert.equal(whole(best), 'good');
});

const rows: [string, Partial<Facts>, string][] = [
  ['without a secure address nothing works offline', { secure: false }, 'bad'],
  ['without a service worker neither', { worker: 'none' }, 'bad'],
  ['nor where the browser has none', { worker: 'unsupported' }, 'bad'],
  ['storage that fails is bad', { storage: 'fails' }, 'bad'],
  ['so is a browser without WebAssembly', { wasm: false }, 'bad'],
  ['a service worker that rules after the next load is fair', { worker: 'ready' }, 'fair'],
  ['a storage that may be cleared is fair', { persist: 'refused' }, 'fair'],
  ['a page in a tab is fair', { installed: false }, 'fair'],
  ['no camera is fair: labels can be typed', { camera: 'none' }, 'fair'],
  ['an untried airplane mode leaves the verdict open', { airplane: 'todo', installed: false }, 'todo'],
  ['so does one with the network still on', { airplane: 'network' }, 'todo'],
  ['a load that the server must have answered is bad', { airplane: 'fails' }, 'bad'],
  ['the worst wins', { camera: 'none', airplane: 'todo', wasm: false }, 'bad'],
];
for (const [name, part, want] of rows) test(name, () => assert.equal(whole({ ...best, ...part }), want));

test('a trial counts only when it was asked for and no server answered', () => {
  assert.equal(airplaneOf(false, false, true), 'todo');
  assert.equal(airplaneOf(true, true, true), 'network');
  assert.equal(airplaneOf(true, false, true), 'works');
  assert.equal(airplaneOf(true, false, false), 'fails');
});

test('every finding has words in both languages', () => {
  const findings: { [P in keyof Facts]: readonly string[] } = {
    secure: ['yes', 'no'],
    worker: ['rules', 'ready', 'none', 'unsupported'],
    storage: ['works', 'fails', 'unsupported'],
    wasm: ['yes', 'no'],
    persist: ['granted', 'refused', 'unsupported'],
    installed: ['yes', 'no'],
    camera: ['there', 'none', 'unsupported'],
    airplane: ['todo', 'works', 'network', 'fails'],
  };
  for (const w of [en, es]) {
    for (const p of probes) {
      assert.ok(w.check.names[p], p);
      for (const f of findings[p]) assert.ok(w.check.found[`${p}.${f}`], `${p}.${f}`);
    }
  }
});
