import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isReady, stepsOf } from './steps';

const place = (kind: string) => ({ place: kind, name: kind, kind }) as never;
const person = (gone = false) => ({ person: 'p', name: 'P', role: 'manager', gone }) as never;
const lists = {
  powders: [{} as never],
  booths: [{} as never],
  places: [place('shelf'), place('vessel')],
  people: [person()],
};

test('a shop is ready with a powder, a booth, a shelf and a vessel; people may follow', () => {
  assert.equal(isReady(stepsOf(lists)), true);
  assert.equal(isReady(stepsOf({ ...lists, places: [place('shelf')] })), false);
  assert.equal(isReady(stepsOf({ ...lists, powders: [] })), false);
});

test('whoever left the shop is not counted', () => {
  assert.deepEqual(
    stepsOf({ ...lists, people: [person(), person(true)] })
      .map((s) => [s.name, s.count, s.isDone])
      .at(-1),
    ['people', 1, false],
  );
});
