// What the status strip says, the most urgent thing first. Pure.

import type { Status } from '../../bridge/api';

export type Strip =
  | { kind: 'not_saved' } // storage fails: the one thing that must not be overlooked
  | { kind: 'newer_needed' }
  | { kind: 'shut_out'; unsent: number } // by a manager: what it sends is held
  | { kind: 'session_ended'; unsent: number }
  | { kind: 'waiting_for'; n: number } // entries of somebody else on this phone who must sign in
  | { kind: 'server_full'; unsent: number } // it takes nothing for now; recording goes on
  | { kind: 'overdue'; unsent: number; ageMs: number } // something waits for too long
  | { kind: 'offline'; unsent: number; ageMs: number | null }
  | { kind: 'waiting'; unsent: number; ageMs: number | null } // online, not sent yet
  | { kind: 'nobody'; isAnswering: boolean } // is signed in, and nothing waits
  | { kind: 'asking'; unsent: number } // nobody knows yet whether the server is there
  | { kind: 'sent' };

// overdueMs is how long entries may wait before the phone asks to be taken to the network:
// until they are sent, a lost phone takes them with it.
export const overdueMs = 4 * 3_600_000;

export function stripOf(s: Status | null, now: number): Strip {
  if (s === null) return { kind: 'asking', unsent: 0 };
  if (s.storage !== 'ok') return { kind: 'not_saved' };
  if (s.newerClientNeeded) return { kind: 'newer_needed' };
  if (s.isShutOut) return { kind: 'shut_out', unsent: s.unsent };
  if (s.sessionEnded) return { kind: 'session_ended', unsent: s.unsent };
  const ageMs = s.oldestUnsentMs === null ? null : Math.max(0, now - s.oldestUnsentMs);
  if (s.unsent > 0 && ageMs !== null && ageMs >= overdueMs) return { kind: 'overdue', unsent: s.unsent, ageMs };
  if (!s.signedIn && s.seats.length === 0 && s.unsent === 0 && s.online !== 'unknown')
    return { kind: 'nobody', isAnswering: s.online === 'yes' };
  if (s.online === 'no') return { kind: 'offline', unsent: s.unsent, ageMs };
  if (s.upkeep.isFull && s.unsent > 0) return { kind: 'server_full', unsent: s.unsent };
  const waits = s.waiting.reduce((n, x) => n + x.n, 0);
  if (waits > 0 && waits === s.unsent) return { kind: 'waiting_for', n: waits };
  if (s.unsent > 0) return { kind: 'waiting', unsent: s.unsent, ageMs };
  return s.online === 'yes' ? { kind: 'sent' } : { kind: 'asking', unsent: 0 };
}
