import assert from 'node:assert/strict';
import { test } from 'node:test';
import { EventReader } from './sse';

const table: [string, string[], string[]][] = [
  ['one event in one piece', ['data: {"head":1}\n\n'], ['{"head":1}']],
  ['an event cut anywhere', ['da', 'ta: a', 'b\n', '\nda'], ['ab']],
  ['a beat is no event', [': here\n\n', 'data: x\n\n'], ['x']],
  ['lines of one event are joined', ['data: a\ndata: b\n\n'], ['a\nb']],
  ['carriage returns, also cut from their line feed', ['data: a\r', '\n\r', '\ndata:b\r\r', ':'], ['a', 'b']],
  ['no space after the colon, and only one is taken', ['data:a\n\ndata:  b\n\n'], ['a', ' b']],
  ['a byte order mark at the start', ['\uFEFFdata: a\n\n'], ['a']],
  ['other fields are left out', ['event: x\nid: 1\nretry: 5\ndata: a\n\n'], ['a']],
  ['an unfinished event is none', ['data: a\n'], []],
];

for (const [name, pieces, want] of table) {
  test(name, () => {
    const reader = new EventReader();
    assert.deepEqual(
      pieces.flatMap((p) => reader.take(p)),
      want,
    );
  });
}

test('a stream that never ends its event is refused', () => {
  const reader = new EventReader();
  assert.throws(() => {
    for (let i = 0; i < 100; i++) reader.take('data: ' + 'x'.repeat(1_000) + '\n');
  }, RangeError);
});
