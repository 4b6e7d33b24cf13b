// What was pulled, as it lies in the store.

export interface Cursor {
  epoch: string;
  after: number;
}

// Proof is what the server last gave out of its log, to be shown to it again. It covers
// what stands here: it is stored together with marks and pages.
export interface Proof {
  epoch: string;
  seq: number;
  text: string;
}

// Base is what the stored log stands on; seq 0 is its beginning.
export interface Base {
  seq: number;
  floor_ms: number;
  tail: number;
  scope: string;
}
export interface StoredBase {
  epoch: string;
  base: Base;
  state: Uint8Array;
  pages: Uint8Array[];
}
export interface Page {
  epoch: string;
  first: number;
  to: number;
  bytes: Uint8Array;
}

export const noCursor: Cursor = { epoch: '', after: 0 };
export const noBase: Base = { seq: 0, floor_ms: 0, tail: 0, scope: '' };
export const pagesAtOnce = 16;
