import assert from 'node:assert/strict';
import { test } from 'node:test';
import { MemoryStore } from './memory-store';
import { isPin, makePin, matches, waitAfter, waitLeft } from './pin';
import { Seats, seatsMax } from './seats';
import { Shelf } from './shelf';

const ana = { id: 'ana', name: 'Ana', role: 'coater' } as const,
  bo = { id: 'bo', name: 'Bo', role: 'coater' } as const,
  mia = { id: 'mia', name: 'Mia', role: 'manager' } as const;
const noise = (n: number) => crypto.getRandomValues(new Uint8Array(n));

function phone() {
  const at = { ms: 1_000_000, changes: 0 };
  const shelf = new Shelf(new MemoryStore(), true);
  const open = () =>
    new Seats({
      shelf,
      now: () => at.ms,
      noise,
      changed: () => {
        at.changes++;
      },
    });
  return { at, shelf, open, seats: open() };
}

const fails = (code: string) => (e: { problem: { code: string } }) => e.problem.code === code;

test('a PIN is four to six digits, kept as a salted hash that only the same digits match', async () => {
  for (const [text, want] of [
    ['1234', true],
    ['123456', true],
    ['123', false],
    ['1234567', false],
    ['12a4', false],
    ['١٢٣٤', false],
    ['', false],
  ] as const)
    assert.equal(isPin(text), want, text);
  const a = await makePin('2468', noise, 1_000),
    b = await makePin('2468', noise, 1_000);
  assert.notDeepEqual(a.hash, b.hash, 'a salt of its own');
  assert.deepEqual([await matches(a, '2468'), await matches(a, '2469'), await matches(a, '')], [true, false, false]);
});

test('wrong tries wait longer and longer, to a minute and no further', () => {
  assert.deepEqual([1, 2, 3, 4, 8, 9, 50].map(waitAfter), [0, 0, 1_000, 2_000, 32_000, 60_000, 60_000]);
  assert.equal(waitLeft(5_000, 4_000), 1_000);
  assert.equal(waitLeft(5_000, 6_000), 0);
  assert.equal(waitLeft(9_000_000, 4_000), 0, 'a clock set back makes no long wait');
});

test("people change over by PIN, and each entry goes out in its author's session", async () => {
  const { at, open, shelf, seats } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.setPin('1111', '');
  await seats.enter(bo, 'srv', false);
  await seats.setPin('2222', '');
  assert.equal(seats.session.person?.id, 'bo');
  await seats.swap('ana', '1111');
  assert.deepEqual(
    [seats.session.person?.id, seats.carrier(), seats.sender('bo'), seats.sender('eve')],
    ['ana', 'ana', 'bo', ''],
  );
  const again = open(); // as after a restart
  again.know(await shelf.reread());
  assert.deepEqual(
    again.view().map((s) => [s.id, s.isHere, s.hasPin]),
    [
      ['ana', true, true],
      ['bo', false, true],
    ],
  );
  assert.ok(at.changes >= 5);
});

test('wrong PINs delay, never lock, and leave the holder in place', async () => {
  const { at, seats } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.setPin('1111', '');
  await seats.enter(bo, 'srv', false);
  for (let i = 0; i < 3; i++) await assert.rejects(seats.swap('ana', '9999'), fails('pin_wrong'));
  await assert.rejects(seats.swap('ana', '1111'), fails('pin_wait'));
  assert.equal(seats.session.person?.id, 'bo');
  at.ms += 1_000;
  await seats.swap('ana', '1111');
  await assert.rejects(seats.swap('bo', '2222'), fails('pin_none'));
  await assert.rejects(seats.swap('eve', '2222'), fails('seat_none'));
});

test('an old PIN is asked for, but not of somebody who has just signed in', async () => {
  const { seats, open, shelf } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.setPin('1111', '');
  await seats.setPin('3333', '');
  await assert.rejects(seats.setPin('12', ''), fails('pin_form'));
  const later = open();
  later.know(await shelf.reread());
  await assert.rejects(later.setPin('4444', '1111'), fails('pin_wrong'));
  await later.setPin('4444', '3333');
});

test('one whose session is over keeps the seat; another session carries the phone', async () => {
  const { seats } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.enter(bo, 'srv', false);
  await seats.over('bo');
  assert.deepEqual([seats.carrier(), seats.sender('bo'), seats.sender('ana')], ['ana', '', 'ana']);
  await seats.over('ana');
  assert.equal(seats.carrier(), '');
  await seats.enter(bo, 'srv', false);
  assert.deepEqual([seats.carrier(), seats.sender('bo'), seats.view().length], ['bo', 'bo', 2]);
});

test('only a manager hands in, and only while holding the phone', async () => {
  const { seats } = phone();
  await seats.enter(bo, 'srv', false);
  await assert.rejects(seats.handIn('ana'), fails('role.may_not'));
  await seats.setPin('5555', '');
  await seats.enter(mia, 'srv', true);
  assert.equal(seats.sender('ana'), '');
  await seats.handIn('ana');
  assert.equal(seats.sender('ana'), 'mia');
  await seats.swap('bo', '5555');
  assert.equal(seats.sender('ana'), '');
  await seats.enter(mia, 'srv', true);
  assert.equal(seats.sender('ana'), '', 'asked anew after somebody else had the phone');
});

test('leaving takes one seat; another server takes all of them; there is an end to seats', async () => {
  const { seats } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.enter(bo, 'srv', false);
  await seats.leave('bo');
  assert.deepEqual([seats.session.person, seats.carrier(), seats.view().length], [null, 'ana', 1]);
  await seats.enter(ana, 'other', false);
  assert.deepEqual(
    seats.view().map((s) => s.id),
    ['ana'],
  );
  for (let i = 1; i < seatsMax; i++) await seats.enter({ ...ana, id: `p${i}` }, 'other', false);
  await assert.rejects(seats.enter(bo, 'other', false), fails('seats_full'));
  assert.equal(seats.view().length, seatsMax);
});

test('a role that the server changed is taken over', async () => {
  const { seats, at } = phone();
  await seats.enter(ana, 'srv', false);
  const was = at.changes;
  await seats.renew(ana);
  assert.equal(at.changes, was);
  await seats.renew({ ...ana, role: 'clerk' });
  assert.equal(seats.session.person?.role, 'clerk');
});

test('a manager on a phone of several people has no PIN, and nobody takes the phone over as one', async () => {
  const { seats } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.setPin('1111', '');
  await seats.enter(mia, 'srv', true);
  await assert.rejects(seats.setPin('5555', ''), fails('pin_manager'));
  assert.deepEqual(
    seats.view().map((s) => [s.id, s.isMoment, s.hasPin]),
    [
      ['ana', false, true],
      ['mia', true, false],
    ],
  );
  assert.deepEqual([seats.moment, seats.holder, seats.carrier()], ['mia', 'mia', 'mia']);
  await seats.swap('ana', '1111');
  assert.deepEqual([seats.sender('mia'), seats.carrier()], ['mia', 'ana'], 'her session only takes her entries along');
  await assert.rejects(seats.swap('mia', '5555'), fails('pin_manager'));
  await seats.leave('mia');
  assert.deepEqual([seats.moment, seats.sender('mia'), seats.at.ending], ['', '', []]);
});

test('a manager who had the phone alone gives way to the second person', async () => {
  const { seats } = phone();
  await seats.enter(mia, 'srv', false);
  assert.equal(seats.moment, '');
  await seats.enter(ana, 'srv', false);
  assert.deepEqual([seats.ids, seats.sender('mia'), seats.at.ending], [['ana'], '', []]);
});

test('one who becomes manager has no PIN any more', async () => {
  const { seats } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.setPin('1111', '');
  await seats.enter(bo, 'srv', false);
  await seats.renew({ ...ana, role: 'manager' });
  await assert.rejects(seats.swap('ana', '1111'), fails('pin_manager'));
});

test('putting the phone down leaves the seat; the server is to be told of everybody who left', async () => {
  const { seats, open, shelf } = phone();
  await seats.enter(ana, 'srv', false);
  await seats.putDown('bo');
  assert.equal(seats.holder, 'ana');
  await seats.putDown('ana');
  assert.deepEqual([seats.session, seats.ids], [{ person: null, server: 'srv', isSignedIn: false }, ['ana']]);
  await seats.leave('ana');
  const again = open();
  again.know(await shelf.reread());
  assert.deepEqual(again.at.ending, ['ana']);
  await again.ended('ana');
  assert.deepEqual(again.at.ending, []);
});
