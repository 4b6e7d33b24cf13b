// The replica's effects as pwa/core spells them (phone/effects.go).

import type { Base, Cursor, OwnRow, Proof } from './shelf';

export type Effect =
  | { do: 'hello'; op: number; timeout_ms: number; show?: string }
  | { do: 'refresh'; op: number; timeout_ms: number }
  | { do: 'push'; op: number; timeout_ms: number; author: string; blob: number; show?: string }
  | { do: 'pull'; op: number; timeout_ms: number; cursor: Cursor; max: number; scope?: string; show?: string }
  | { do: 'fetch_base'; op: number; timeout_ms: number; n?: number; scope?: string; show?: string }
  | { do: 'store_base'; op: number; cursor: Cursor; to: Cursor; base: Base; proof: Proof }
  | {
      do: 'store_pulled';
      op: number;
      cursor: Cursor;
      to: Cursor;
      base: Base;
      first: number;
      rows?: OwnRow[];
      blob: number;
      proof: Proof;
    }
  | { do: 'mark'; op: number; rows: OwnRow[]; proof: Proof }
  | { do: 'forget'; op: number; gone: number[] }
  | { do: 'reset'; op: number; epoch: string; rows?: OwnRow[] }
  | { do: 'read_store'; op: number }
  | { do: 'raise_counter'; n: number }
  | { do: 'timer'; after_ms: number }
  | { do: 'open_live' | 'close_live' }
  | { do: 'changed'; all_sent?: boolean }
  | { do: 'notify'; code: string; detail?: string };

// CoreStatus is what op "status" answers.
export interface CoreStatus {
  rev: number;
  attention: number;
  loading: boolean;
  unsent: number;
  oldest_unsent_ms: number;
  online: 'yes' | 'no' | 'unknown';
  signed_in: boolean;
  session_ended: boolean;
  last_sync_ms: number;
  newer_client: boolean;
  refused: number;
  held: number;
  waiting: { by: string; n: number }[];
  shut_out: boolean;
  behind?: Cursor;
  have: Cursor;
  cursor: Cursor;
  window_ms: number;
  cut_ms: number;
}
