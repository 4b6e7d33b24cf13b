// Fetches a snapshot: the list of its pieces, then each piece that is not here yet.
// What was fetched survives a broken connection, so a second try asks for the rest.
//
// Each piece is held against its hash, and a whole snapshot is handed on as it came: the
// store need not wait until the core has read it. The core reads in the pauses of a slow
// line, and the rest once the store has everything.

import type { Reply } from './net';
import { failureOf } from './net';

export const pieceMs = 25_000;
const atOnce = 5; // pieces under way together, one fewer than a browser asks of one server
const quietMs = 50; // without a piece, after which the line is called slow

// AskServer asks our server in the name of the phone.
export type AskServer = (path: string, timeoutMs: number, proof: string) => Promise<Reply>;

// Read has the core read a piece; false when it is gone.
export type Read = (piece: Piece, bytes: Uint8Array) => boolean;

export interface Piece {
  kind: 'state' | 'page';
  sha256: string;
}

export type Fetched =
  | { kind: 'whole'; list: Uint8Array; state: Uint8Array; pages: Uint8Array[] }
  | { kind: 'failed'; why: string; retryMs: number };

export class Snapshots {
  readonly #server: AskServer;
  readonly #read: Read;
  readonly #have = new Map<string, Uint8Array>(); // by hash
  readonly #unread = new Map<string, Piece>();
  #isBroken = false; // the last try brought less than all
  #quiet: ReturnType<typeof setTimeout> | undefined;

  constructor(server: AskServer, read: Read) {
    this.#server = server;
    this.#read = read;
  }

  // fetch ends within timeoutMs. After a try that failed it asks for one piece at a time,
  // which a thin line carries before its deadline.
  async fetch(after: number, scope: string, timeoutMs: number, now: () => number, proof = ''): Promise<Fetched> {
    const end = now() + timeoutMs;
    const list = await this.#ask(
      '/api/v1/snapshot?' + new URLSearchParams({ after: String(after), ...(scope === '' ? {} : { scope }) }),
      end - now(),
      proof,
    );
    if (list.kind !== 'answer') return failed(list);
    const pieces = piecesOf(list.bytes);
    if (pieces === null) return { kind: 'failed', why: 'no_server', retryMs: 0 };
    this.#keepOnly(pieces);
    const missing = new Map(pieces.filter((p) => !this.#have.has(p.sha256)).map((p) => [p.sha256, p])).values();
    let fault: Fetched | null = null;
    const fetchSome = async (): Promise<void> => {
      for (const piece of missing) {
        const wrong = await this.#piece(piece, end - now());
        fault ??= wrong;
        if (fault !== null) return;
      }
    };
    await Promise.all(Array.from({ length: this.#isBroken ? 1 : atOnce }, fetchSome));
    clearTimeout(this.#quiet);
    this.#isBroken = fault !== null;
    if (fault !== null) return fault;
    const have = pieces.map(({ kind, sha256 }) => ({ kind, bytes: this.#have.get(sha256) }));
    if (!have.every((p): p is { kind: Piece['kind']; bytes: Uint8Array } => p.bytes !== undefined))
      return { kind: 'failed', why: 'busy', retryMs: 0 }; // another fetch, begun since, let go of some
    const of = (kind: Piece['kind']) => have.filter((p) => p.kind === kind).map((p) => p.bytes);
    return { kind: 'whole', list: list.bytes, state: joined(of('state')), pages: of('page') };
  }

  // finish has the core read what it has not read yet.
  async finish(): Promise<void> {
    while (this.#readOne()) await new Promise((resolve) => setTimeout(resolve, 0));
  }

  // forget lets go of the pieces.
  forget(): void {
    this.#have.clear();
    this.#unread.clear();
  }

  // piece fetches one; null when it is here.
  async #piece(piece: Piece, leftMs: number): Promise<Fetched | null> {
    const got = await this.#ask('/api/v1/snapshot/' + piece.sha256, leftMs);
    if (got.kind !== 'answer') return failed(got);
    if ((await sha256(got.bytes)) !== piece.sha256) return { kind: 'failed', why: 'no_server', retryMs: 0 };
    this.#have.set(piece.sha256, got.bytes);
    this.#unread.set(piece.sha256, piece);
    clearTimeout(this.#quiet);
    this.#quiet = setTimeout(() => this.#readQuietly(), quietMs);
    return null;
  }

  #readQuietly(): void {
    if (this.#readOne()) this.#quiet = setTimeout(() => this.#readQuietly(), 0);
  }

  // readOne has the core read a piece; false when there is none left, or no core.
  #readOne(): boolean {
    const piece = this.#unread.values().next().value;
    if (piece === undefined) return false;
    this.#unread.delete(piece.sha256);
    return this.#read(piece, this.#have.get(piece.sha256) ?? new Uint8Array());
  }

  #keepOnly(pieces: readonly Piece[]): void {
    const listed = new Set(pieces.map((p) => p.sha256));
    for (const sum of this.#have.keys()) {
      if (listed.has(sum)) continue;
      this.#have.delete(sum);
      this.#unread.delete(sum);
    }
  }

  #ask(path: string, leftMs: number, proof = ''): Promise<Reply> {
    return this.#server(path, Math.max(1, Math.min(pieceMs, leftMs)), proof);
  }
}

function failed(reply: Exclude<Reply, { kind: 'answer' }>): Fetched {
  if (reply.kind === 'problem') {
    if (reply.code === 'snapshot.none') return { kind: 'failed', why: 'no_snapshot', retryMs: 0 };
    if (reply.code === 'snapshot.gone') return { kind: 'failed', why: 'busy', retryMs: 0 };
  }
  return { kind: 'failed', ...failureOf(reply) };
}

async function sha256(bytes: Uint8Array): Promise<string> {
  const sum = await crypto.subtle.digest('SHA-256', bytes as BufferSource);
  return Array.from(new Uint8Array(sum), (b) => b.toString(16).padStart(2, '0')).join('');
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let at = 0;
  for (const p of parts) {
    out.set(p, at);
    at += p.length;
  }
  return out;
}

// piecesOf reads the list; null when it makes no sense.
function piecesOf(list: Uint8Array): Piece[] | null {
  const isPiece = (p: { kind?: unknown; sha256?: unknown }): p is Piece =>
    (p.kind === 'state' || p.kind === 'page') && typeof p.sha256 === 'string' && /^[0-9a-f]{64}$/.test(p.sha256);
  try {
    const { pieces = [] } = JSON.parse(new TextDecoder().decode(list)) as {
      pieces?: { kind?: unknown; sha256?: unknown }[];
    };
    return pieces.every(isPiece) ? pieces : null;
  } catch {
    return null;
  }
}
