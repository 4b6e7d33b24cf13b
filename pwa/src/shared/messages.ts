// What travels between the page and its worker. Every call has a number; a call
// that changes something also has a request id that stays the same when the call
// is sent again to a restarted worker.

import type { Core, Problem, Status } from '../bridge/api';

export type CallName = Exclude<keyof Core, 'onChange' | 'syncNow'>;
export type CallArgs<N extends CallName> = Parameters<Core[N]>;

export type ToWorker =
  | { type: 'call'; id: number; call: CallName; args: readonly unknown[]; request: string }
  | { type: 'ping'; id: number }
  | { type: 'sync' }
  | { type: 'visible'; isVisible: boolean }
  | { type: 'sleep' } // the page goes into the back/forward cache or away: let go of store and stream
  | { type: 'wake' };

export type FromWorker =
  | { type: 'done'; id: number; value: unknown }
  | { type: 'failed'; id: number; problem: Problem }
  | { type: 'pong'; id: number }
  | { type: 'status'; status: Status };
