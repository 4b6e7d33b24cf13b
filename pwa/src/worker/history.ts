// What lies behind the window of this phone is on the server, which answers with the
// same code.

import type { Prefs, ViewName } from '../bridge/api';
import { ProblemError } from '../shared/problem';
import type { Tokens } from './session';

const askMs = 10_000; // the page shows what this phone has meanwhile

// askServer asks for a view as this phone would print it. It throws a ProblemError that
// says why there is none.
export async function askServer(
  tokens: Pick<Tokens, 'ask'>,
  person: string,
  name: ViewName,
  params: object,
  how: Pick<Prefs, 'lang' | 'units'>,
  nowMs: number,
  offsetMin: number,
): Promise<unknown> {
  const { lang, units } = how;
  const query = new URLSearchParams({ lang, units, now_ms: String(nowMs), offset_min: String(offsetMin) });
  for (const [key, value] of Object.entries(params)) query.set(key, String(value));
  const ask = () => tokens.ask(person, `/api/v1/export/${name}.json?${query}`, { timeoutMs: askMs });
  let reply = await ask();
  // The access token had run out: once more with a fresh one.
  if (reply.kind === 'problem' && reply.status === 401) reply = await ask();
  if (reply.kind === 'problem') throw new ProblemError(reply.code, reply.title, reply.detail);
  if (reply.kind === 'none') throw new ProblemError('no_server', 'the server did not answer', reply.why);
  try {
    return JSON.parse(new TextDecoder().decode(reply.bytes)) as unknown;
  } catch {
    throw new ProblemError('no_server', 'the server’s answer made no sense');
  }
}
