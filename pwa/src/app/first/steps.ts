// What a new shop needs before the first entry can be made. Pure.

import type { ListsView } from '../../bridge/api';

export interface Step {
  name: 'powders' | 'booths' | 'places' | 'people';
  task: 'set.powder' | 'set.booth' | 'set.place' | 'set.person';
  count: number;
  isDone: boolean;
  isNeeded: boolean;
}

// stepsOf lists them in the order in which one leads to the next: a place stands at a
// booth. Of places it takes a shelf for what arrives and a vessel that feeds the gun.
export function stepsOf(l: Pick<ListsView, 'powders' | 'booths' | 'places' | 'people'>): Step[] {
  const has = (kind: string) => l.places.some((p) => p.kind === kind);
  const working = l.people.filter((p) => p.gone !== true).length;
  return [
    { name: 'powders', task: 'set.powder', count: l.powders.length, isDone: l.powders.length > 0, isNeeded: true },
    { name: 'booths', task: 'set.booth', count: l.booths.length, isDone: l.booths.length > 0, isNeeded: true },
    {
      name: 'places',
      task: 'set.place',
      count: l.places.length,
      isDone: has('shelf') && has('vessel'),
      isNeeded: true,
    },
    { name: 'people', task: 'set.person', count: working, isDone: working > 1, isNeeded: false },
  ];
}

export function isReady(steps: readonly Step[]): boolean {
  return steps.every((s) => s.isDone || !s.isNeeded);
}
