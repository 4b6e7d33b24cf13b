// What travels between the page and its worker. Every call has a number; a call
// that changes something also has a request id that stays the same when the call
// is sent again to a restarted worker.

import type { Core, Problem, Status } from '../bridge/api';

export type CallName = Exclude<keyof Core, 'onChange' | 'syncNow' | 'updateStuck' | 'onHeld'>;
export type CallArgs<N extends CallName> = Parameters<Core[N]>;

export type ToWorker =
  | { type: 'call'; id: number; call: CallName; args: readonly unknown[]; request: string }
  | { type: 'ping'; id: number }
  | { type: 'sync' }
  | { type: 'touched' } // somebody taps or types
  | { type: 'stuck'; file: string } // an update could not be installed for want of it; "": one could
  | { type: 'visible'; isVisible: boolean }
  | { type: 'sleep' } // the page goes into the back/forward cache or away: let go of store and stream
  | { type: 'wake' };

export type FromWorker =
  | { type: 'done'; id: number; value: unknown }
  | { type: 'failed'; id: number; problem: Problem }
  | { type: 'pong'; id: number }
  | { type: 'held'; isHeld: boolean } // another window keeps the store shut, or no longer
  | { type: 'free' } // no longer, and this worker, which knows none of what is stored, wants to be replaced
  | { type: 'status'; status: Status };
