// Fetches a snapshot: the list of its pieces, then each piece that is not here yet.
// What was fetched survives a broken connection, so a second try asks for the rest.

import type { Reply } from './net';
import { failureOf } from './net';

export const pieceMs = 25_000;
const atOnce = 3; // pieces under way together, half of what a browser asks of one server

// AskServer asks our server in the name of the phone.
export type AskServer = (path: string, timeoutMs: number) => Promise<Reply>;

export type Fetched = { kind: 'whole'; list: Uint8Array; pieces: Uint8Array[] } | { kind: 'failed'; why: string; retryMs: number };

// Early takes a page of the snapshot while others are on their way; true when it keeps
// the bytes itself, so that they need not come along with the rest.
export type Early = (sha256: string, bytes: Uint8Array) => boolean;

interface Piece { kind: string; sha256: string }

export class Snapshots {
  readonly #server: AskServer;
  readonly #early: Early;
  readonly #have = new Map<string, Uint8Array>();

  constructor(server: AskServer, early: Early = () => false) {
    this.#server = server;
    this.#early = early;
  }

  async fetch(after: number, scope: string, timeoutMs: number, now: () => number): Promise<Fetched> {
    const end = now() + timeoutMs;
    const list = await this.#ask('/api/v1/snapshot?' + new URLSearchParams({ after: String(after), ...(scope === '' ? {} : { scope }) }), end - now());
    if (list.kind !== 'answer') return failed(list);
    const all = piecesOf(list.bytes);
    if (all === null) return { kind: 'failed', why: 'no_server', retryMs: 0 };
    const sums = all.map((p) => p.sha256), pages = new Set(all.filter((p) => p.kind === 'page').map((p) => p.sha256));
    for (const sum of this.#have.keys()) if (!sums.includes(sum)) this.#have.delete(sum);
    const missing = [...new Set(sums)].filter((sum) => !this.#have.has(sum)).values();
    let fault: Fetched | null = null, reading = Promise.resolve();
    const fetchSome = async (): Promise<void> => {
      for (const sum of missing) {
        const piece = await this.#ask('/api/v1/snapshot/' + sum, end - now());
        if (fault !== null) return;
        if (piece.kind !== 'answer') fault = failed(piece);
        else if ((await sha256(piece.bytes)) !== sum) fault = { kind: 'failed', why: 'no_server', retryMs: 0 };
        else {
          this.#have.set(sum, piece.bytes);
          if (pages.has(sum)) reading = reading.then(() => this.#read(sum, piece.bytes));
        }
        if (fault !== null) return;
      }
    };
    await Promise.all(Array.from({ length: atOnce }, fetchSome));
    await reading;
    if (fault !== null) return fault;
    const pieces = sums.flatMap((sum) => this.#have.get(sum) ?? []);
    return { kind: 'whole', list: list.bytes, pieces };
  }

  // read has a page read early, once what waits to be fetched next has been asked for.
  async #read(sum: string, bytes: Uint8Array): Promise<void> {
    await new Promise((resolve) => setTimeout(resolve, 0));
    if (this.#early(sum, bytes)) this.#have.set(sum, new Uint8Array());
  }

  // forget lets go of the pieces: they are stored, or one of them is not what its
  // hash says.
  forget(): void {
    this.#have.clear();
  }

  #ask(path: string, leftMs: number): Promise<Reply> {
    return this.#server(path, Math.max(1, Math.min(pieceMs, leftMs)));
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

function piecesOf(list: Uint8Array): Piece[] | null {
  try {
    const { pieces } = JSON.parse(new TextDecoder().decode(list)) as { pieces?: { kind?: unknown; sha256?: unknown }[] };
    const all = (pieces ?? []).map(({ kind, sha256 }) => ({ kind: String(kind), sha256 }));
    return all.every((p) => typeof p.sha256 === 'string' && /^[0-9a-f]{64}$/.test(p.sha256)) ? (all as Piece[]) : null;
  } catch {
    return null;
  }
}
