// Which answers may lack what lies behind the window of this phone. Pure.

import type { EntryView, JobsView, TraceView, Views } from '../../bridge/api';

export type Deep = 'trace' | 'jobs' | 'run' | 'entries'; // the views that reach back as far as one asks
export const rowsMax = 200; // of a list of entries, when nobody says how many

// isCut tells whether the server may know more of a view than this phone's answer says.
// undefined: this phone knows no such thing.
export function isCut<K extends Deep>(
  name: K,
  params: Readonly<Record<string, unknown>>,
  answer: Views[K] | undefined,
): boolean {
  if (answer === undefined) return true;
  switch (name) {
    case 'trace':
      return (answer as TraceView).cut_ms !== undefined;
    case 'jobs':
      return (answer as JobsView).cut_ms !== undefined;
    case 'run':
      return false;
    case 'entries': {
      const list = answer as EntryView[],
        one = params['entry'];
      return one === undefined ? list.length < rowsMax : !list.some((e) => e.id === one);
    }
  }
}
