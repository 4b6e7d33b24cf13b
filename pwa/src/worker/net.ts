// Talks to our own server and to nothing else. Whatever does not carry the
// server's mark, its content type and sense is "no server": a captive portal, a
// login page, a proxy's error, another server on the same address.

export type Reply =
  | { kind: 'answer'; status: number; bytes: Uint8Array; server: string }
  | { kind: 'problem'; status: number; code: string; title: string; detail: string; retryMs: number; server: string }
  | { kind: 'none'; why: string };

export interface Ask {
  method?: 'GET' | 'POST' | 'PUT' | 'DELETE';
  body?: Uint8Array | string;
  timeoutMs: number;
  token?: string;
  proof?: string; // of the server's log, '' for none
}

const mark = 'X-Hoppertally';
const packFrom = 1 << 10; // bytes of a body that is worth packing
export const answerMax = 32 << 20; // bytes; no answer of ours comes near

// Net knows which server is ours; '' means that none is known yet.
export class Net {
  server = '';
  contact: () => string = () => ''; // what the phone says of itself with a request, '' for nothing
  readonly #fetch: typeof fetch;

  constructor(fetcher: typeof fetch) {
    this.#fetch = fetcher;
  }

  async ask(path: string, ask: Ask): Promise<Reply> {
    try {
      const packed = ask.body instanceof Uint8Array && ask.body.length >= packFrom ? await pack(ask.body) : null;
      const init = this.init(packed === null ? ask : { ...ask, body: packed }, AbortSignal.timeout(ask.timeoutMs));
      if (packed !== null) init.headers = { ...init.headers, 'Content-Encoding': 'gzip' };
      const answer = await this.#fetch(path, init);
      const server = this.accepted(answer);
      if (server === null) return { kind: 'none', why: 'not our server' };
      const type = answer.headers.get('Content-Type') ?? '';
      const bytes = new Uint8Array(await answer.arrayBuffer());
      if (bytes.length > answerMax) return { kind: 'none', why: 'answer too large' };
      if (
        answer.ok &&
        (type.startsWith('application/json') || type.startsWith('application/octet-stream') || answer.status === 204)
      )
        return { kind: 'answer', status: answer.status, bytes, server };
      if (type.startsWith('application/problem+json')) return problem(answer, bytes, server);
      return { kind: 'none', why: `content type ${type || 'missing'}` };
    } catch (e) {
      return { kind: 'none', why: e instanceof Error ? e.name : String(e) };
    }
  }

  // open starts a stream of events; null when the server does not give one.
  async open(path: string, token: string, signal: AbortSignal): Promise<ReadableStream<Uint8Array> | null> {
    const answer = await this.#fetch(path, {
      ...this.init({ timeoutMs: 0, token }, signal),
      headers: { Accept: 'text/event-stream', Authorization: 'Bearer ' + token },
    });
    const isStream = answer.ok && (answer.headers.get('Content-Type') ?? '').startsWith('text/event-stream');
    return isStream && this.accepted(answer) !== null ? answer.body : null;
  }

  init(ask: Ask, signal: AbortSignal): RequestInit {
    const headers: Record<string, string> = { Accept: 'application/json' };
    if (ask.body !== undefined) headers['Content-Type'] = 'application/json';
    if (ask.token !== undefined) {
      headers['Authorization'] = 'Bearer ' + ask.token;
      const contact = this.contact();
      if (contact !== '') headers['X-Hoppertally-Phone'] = contact;
    }
    if (ask.proof) headers['X-Hoppertally-Proof'] = ask.proof;
    const init: RequestInit = {
      method: ask.method ?? 'GET',
      headers,
      redirect: 'error',
      cache: 'no-store',
      credentials: 'same-origin',
      signal,
    };
    if (ask.body !== undefined) init.body = ask.body as BodyInit;
    return init;
  }

  // accepted gives the server's id when the answer is from ours.
  accepted(answer: Response): string | null {
    const server = answer.headers.get(mark);
    if (server === null || server === '') return null;
    if (this.server !== '' && server !== this.server) return null;
    return server;
  }
}

// pack compresses a body; null in a browser that cannot (before Safari 16.4).
async function pack(body: Uint8Array): Promise<Uint8Array | null> {
  if (typeof CompressionStream === 'undefined') return null;
  const packed = new Blob([body as BlobPart]).stream().pipeThrough(new CompressionStream('gzip'));
  return new Uint8Array(await new Response(packed).arrayBuffer());
}

function problem(answer: Response, bytes: Uint8Array, server: string): Reply {
  let body: { code?: unknown; title?: unknown; detail?: unknown };
  try {
    body = JSON.parse(new TextDecoder().decode(bytes)) as typeof body;
  } catch {
    return { kind: 'none', why: 'unreadable problem' };
  }
  const text = (v: unknown) => (typeof v === 'string' ? v : '');
  const seconds = Number(answer.headers.get('Retry-After') ?? 0);
  const retryMs = Number.isFinite(seconds) && seconds > 0 ? Math.min(seconds, 3600) * 1000 : 0;
  return {
    kind: 'problem',
    status: answer.status,
    code: text(body.code),
    title: text(body.title),
    detail: text(body.detail),
    retryMs,
    server,
  };
}

// failureOf sorts a reply that is no answer into the replica's reasons.
export function failureOf(reply: Exclude<Reply, { kind: 'answer' }>): { why: string; retryMs: number } {
  if (reply.kind === 'none') return { why: 'no_server', retryMs: 0 };
  const { status, retryMs } = reply;
  if (status === 421) return { why: 'no_server', retryMs: 0 }; // it does not answer under this name now: no fault of what was sent
  if (reply.code === 'scope.denied') return { why: 'scope_denied', retryMs: 0 };
  if (status === 401) return { why: 'token_old', retryMs: 0 };
  if (reply.code === 'phone.revoked') return { why: 'shut_out', retryMs: 0 };
  if (status === 426) return { why: 'too_old', retryMs: 0 };
  if (status === 409 || status === 410) return { why: 'epoch_gone', retryMs: 0 };
  if (status === 408 || status === 429 || status >= 500) return { why: 'busy', retryMs };
  return { why: 'refused', retryMs: 0 };
}
