// What the windows of one phone tell each other. Each has a core of its own over the
// one store; only one of them syncs.

import type { Status } from '../bridge/api';

// SyncNews is the part of the status that only the window which syncs knows.
export type SyncNews = Pick<Status, 'online' | 'lastSyncMs' | 'newerClientNeeded' | 'isShutOut' | 'waiting' | 'upkeep'>;

export type Told =
  | { type: 'beat' }
  | { type: 'stored' } // something in the store changed: look again
  | { type: 'session' } // somebody signed in or out, or took the phone
  | { type: 'moment'; person: string; access: string } // the token of a session for the moment
  | { type: 'moment?' } // asked by a window that has just opened
  | { type: 'touched' } // somebody uses the phone
  | ({ type: 'status' } & SyncNews);
