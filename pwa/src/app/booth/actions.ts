// Which actions the booth offers now, in the order of the thumb. Pure.

import type { BoothView } from '../../bridge/api';
import type { IconName } from '../icon/icon';

export interface Action {
  task: string;
  icon: IconName;
  start: Readonly<Record<string, string>> | null; // null: not now, what it needs is not there
}

export function actionsFor(v: BoothView): { first: Action[]; more: Action[] } {
  const booth = v.booth.id,
    feed = v.feed?.place;
  // With a closed run just behind, what was forgotten can still be recorded for it.
  const run = v.run?.run;
  const ofRun = (more: Record<string, string> = {}) => (run === undefined ? null : { booth, run, ...more });
  const isChanging = v.change !== undefined && v.change.finished_ms === undefined;
  return {
    first: [
      { task: isChanging ? 'change.finish' : 'change.start', icon: 'change', start: { booth } },
      { task: 'charge', icon: 'charge', start: feed === undefined ? {} : { to: feed } },
    ],
    more: [
      { task: 'weigh', icon: 'scale', start: feed === undefined ? { booth } : { booth, place: feed } },
      { task: 'recover', icon: 'recover', start: ofRun() },
      { task: 'clean', icon: 'clean', start: { booth } },
      { task: 'parts', icon: 'parts', start: ofRun() },
      { task: 'film', icon: 'film', start: ofRun() },
      { task: 'scrap', icon: 'scrap', start: feed === undefined ? { booth } : { booth, from: feed } },
    ],
  };
}
