import assert from 'node:assert/strict';
import { mock, test } from 'node:test';
import type { Told } from './windows';
import { idleMs, Moment } from './moment';

// world is some windows of one phone under one clock.
function world() {
  mock.timers.enable({ apis: ['setTimeout'] });
  const at = { wall: 1_000_000, mono: 0 };
  const windows: { moment: Moment; token: string; prolonged: number; ended: string[] }[] = [];
  const open = (token = '') => {
    const w = { token, prolonged: 0, ended: [] as string[] } as (typeof windows)[number];
    const hear = (to: typeof w, m: Told) => {
      if (m.type === 'moment') {
        to.token = m.access;
        to.moment.heard(m.person);
      }
      if (m.type === 'moment?') to.moment.share();
      if (m.type === 'touched') to.moment.touched(false);
    };
    w.moment = new Moment({
      clock: () => ({ wall_ms: at.wall, mono_ms: at.mono, segment: 's' }),
      token: () => w.token,
      prolong: () => {
        w.prolonged++;
      },
      end: async (person) => {
        w.ended.push(person);
        w.moment.follow('');
      },
      tell: (m) => {
        for (const o of windows) if (o !== w) hear(o, m);
      },
    });
    windows.push(w);
    return w;
  };
  const pass = async (ms: number) => {
    at.wall += ms;
    at.mono += ms;
    mock.timers.tick(ms);
    await Promise.resolve();
  };
  return { at, open, pass };
}

test.afterEach(() => mock.timers.reset());

test('it ends after ten minutes without a tap, and a tap in any window makes it last', async () => {
  const { open, pass } = world();
  const one = open('t'),
    two = open();
  one.moment.granted('mia', 't');
  assert.equal(two.token, 't');
  await pass(idleMs - 1_000);
  two.moment.touched(true);
  await pass(idleMs - 1_000);
  assert.deepEqual([one.ended, two.ended], [[], []]);
  await pass(1_000);
  assert.deepEqual([one.ended, two.ended], [['mia'], ['mia']]);
});

test('the server is asked to make it last while somebody taps, and not for each tap', async () => {
  const { open, pass } = world();
  const one = open('t');
  one.moment.granted('mia', 't');
  for (let i = 0; i < 60; i++) {
    await pass(1_000);
    one.moment.touched(true);
  }
  assert.equal(one.prolonged, 4);
  await pass(5 * 60_000);
  assert.equal(one.prolonged, 4, 'nobody taps');
});

test('a phone that slept has no timers: the next tap ends it instead of making it last', async () => {
  for (const clock of ['wall', 'mono'] as const) {
    const { at, open } = world();
    const one = open('t');
    one.moment.granted('mia', 't');
    at[clock] += idleMs; // the other one stood still, or was set back
    one.moment.touched(true);
    await Promise.resolve();
    assert.deepEqual([one.ended, one.prolonged], [['mia'], 0], clock);
    mock.timers.reset();
  }
});

test('a window that opens goes on with it, if another one has it; else it is over', async () => {
  const { open, pass } = world();
  const one = open('t');
  one.moment.granted('mia', 't');
  const two = open();
  assert.equal(await two.moment.lives('mia'), true);
  assert.equal(two.token, 't');
  one.moment.follow('');
  two.moment.follow('');
  const three = open(),
    answer = three.moment.lives('mia');
  await pass(1_000);
  assert.equal(await answer, false);
});
