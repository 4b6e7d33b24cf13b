import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Status } from '../../bridge/api';
import { overdueMs, stripOf, type Strip } from './strip';

const base: Status = {
  rev: 1,
  unsent: 0,
  oldestUnsentMs: null,
  online: 'yes',
  signedIn: true,
  sessionEnded: false,
  lastSyncMs: 0,
  storage: 'ok',
  attention: 0,
  windowMs: null,
  cutMs: null,
  newerClientNeeded: false,
  seats: [],
  waiting: [],
  isShutOut: false,
  upkeep: { isFull: false, backupMs: null, isBackupFailed: false },
};
const rows: [string, Partial<Status>, Strip][] = [
  ['all sent', {}, { kind: 'sent' }],
  [
    'failing storage beats everything',
    { storage: 'failing', sessionEnded: true, online: 'no', unsent: 3 },
    { kind: 'not_saved' },
  ],
  ['no storage is as bad', { storage: 'none' }, { kind: 'not_saved' }],
  [
    'an ended session keeps counting',
    { sessionEnded: true, unsent: 2, online: 'no' },
    { kind: 'session_ended', unsent: 2 },
  ],
  [
    'without network the oldest entry’s age is told',
    { online: 'no', unsent: 2, oldestUnsentMs: 400 },
    { kind: 'offline', unsent: 2, ageMs: 600 },
  ],
  [
    'with network what is unsent is on its way',
    { unsent: 1, oldestUnsentMs: 900 },
    { kind: 'waiting', unsent: 1, ageMs: 100 },
  ],
  [
    'a server without room is told, with what waits',
    { unsent: 2, upkeep: { isFull: true, backupMs: null, isBackupFailed: false } },
    { kind: 'server_full', unsent: 2 },
  ],
  [
    'a clock set back gives no negative age',
    { unsent: 1, oldestUnsentMs: 5000 },
    { kind: 'waiting', unsent: 1, ageMs: 0 },
  ],
  [
    'where nobody is signed in there is only the server to speak of',
    { signedIn: false },
    { kind: 'nobody', isAnswering: true },
  ],
  [
    'without one there recording does not go on',
    { signedIn: false, online: 'no' },
    { kind: 'nobody', isAnswering: false },
  ],
  [
    'what somebody left on the phone is told first',
    { signedIn: false, online: 'no', unsent: 2, oldestUnsentMs: 400 },
    { kind: 'offline', unsent: 2, ageMs: 600 },
  ],
  ['before the first answer nothing is claimed', { online: 'unknown' }, { kind: 'asking', unsent: 0 }],
];
for (const [name, more, want] of rows) test(name, () => assert.deepEqual(stripOf({ ...base, ...more }, 1000), want));
const late = { unsent: 2, oldestUnsentMs: 1000 };
test('what waits for four hours is asked for, with network and without, and not a moment earlier', () => {
  assert.deepEqual(stripOf({ ...base, ...late, online: 'no' }, 1000 + overdueMs), {
    kind: 'overdue',
    unsent: 2,
    ageMs: overdueMs,
  });
  assert.deepEqual(stripOf({ ...base, ...late }, 1000 + overdueMs), { kind: 'overdue', unsent: 2, ageMs: overdueMs });
  assert.equal(stripOf({ ...base, ...late, online: 'no' }, 999 + overdueMs).kind, 'offline');
  assert.equal(
    stripOf({ ...base, ...late, sessionEnded: true }, 1000 + overdueMs).kind,
    'session_ended',
    'who must sign in first is told that',
  );
});
test('before the first status nothing is claimed either', () =>
  assert.deepEqual(stripOf(null, 0), { kind: 'asking', unsent: 0 }));
