import assert from 'node:assert/strict';
import { test } from 'node:test';
import { href, parse, sectionOf, type Route } from './route';

const rows: [string, Route, string][] = [
  ['the empty address is the start', { at: 'start' }, '#/'],
  ['a booth keeps its id', { at: 'booth', booth: 'b 1/2' }, '#/booth/b%201%2F2'],
  [
    'a task carries what it starts with',
    { at: 'do', task: 'charge', with: { to: 'hopper 1', lot: 'a&b=c' } },
    '#/do/charge?to=hopper%201&lot=a%26b%3Dc',
  ],
  ['a task may start empty', { at: 'do', task: 'change.start', with: {} }, '#/do/change.start'],
  ['a calculation keeps its dotted name', { at: 'sum', name: 'reclaim.topup' }, '#/sums/reclaim.topup'],
  ['a trace by job', { at: 'trace', by: 'job', id: '24-117' }, '#/trace/job/24-117'],
  ['a trace by run', { at: 'trace', by: 'run', id: 'run-2' }, '#/trace/run/run-2'],
  ['entries behind a run', { at: 'entries', behind: { by: 'run', id: 'r1' } }, '#/entries/run/r1'],
  ['the gun of a booth', { at: 'gun', booth: 'booth-1' }, '#/gun/booth-1'],
  ['the work to come', { at: 'today', booth: '' }, '#/today'],
  ['all entries', { at: 'entries', behind: { by: 'all', id: '' } }, '#/entries'],
  ['a sign-in link', { at: 'sign-in', code: 'AB-12' }, '#in=AB-12'],
  ['the check of the phone', { at: 'check' }, '#/check'],
  ['who has the phone', { at: 'who' }, '#/who'],
  ['a person', { at: 'person', id: 'p-1' }, '#/person/p-1'],
  ['a set-up link', { at: 'set-up', code: 'X9' }, '#setup=X9'],
];

for (const [name, route, text] of rows) {
  test(name, () => {
    assert.equal(href(route), text);
    assert.deepEqual(parse(text), route);
  });
}

test('an address nobody knows leads to the start', () => {
  for (const text of ['', '#', '#/nowhere', '#/lot/', '#/do', '#/run'])
    assert.deepEqual(parse(text), { at: 'start' }, text);
});

test('a badly encoded id stays as it stands', () => {
  assert.deepEqual(parse('#/lot/%E0%A4%A'), { at: 'lot', id: '%E0%A4%A' });
});

test('a run lies under the office, a form under no tab', () => {
  assert.equal(sectionOf({ at: 'run', id: 'r' }), 'office');
  assert.equal(sectionOf({ at: 'do', task: 'charge', with: {} }), null);
});
