// What lies behind the window of this phone is on the server: the same views, made by
// the same code, are asked there when the phone's own answer may not be whole.

import type { Prefs, ViewName } from '../bridge/api';
import type { Tokens } from './session';

const askMs = 4_000;
const rowsMax = 200; // of a list of entries, when nobody says how many

// reachesBack tells whether a view may need what this phone no longer holds. answer is
// the phone's own; undefined when it knows no such thing.
export function reachesBack(name: ViewName, answer: unknown): boolean {
  switch (name) {
    case 'trace':
      return true;
    case 'run':
      return answer === undefined;
    case 'entries':
      return !Array.isArray(answer) || answer.length < rowsMax;
    default:
      return false;
  }
}

// askServer asks for a view as this phone would print it; undefined when the server
// gives none.
export async function askServer(tokens: Tokens, person: string, name: ViewName, params: object, how: Pick<Prefs, 'lang' | 'units'>, nowMs: number, offsetMin: number): Promise<unknown> {
  const query = new URLSearchParams({ lang: how.lang, units: how.units, now_ms: String(nowMs), offset_min: String(offsetMin) });
  for (const [key, value] of Object.entries(params)) query.set(key, String(value));
  const reply = await tokens.ask(person, `/api/v1/export/${name}.json?${query}`, { timeoutMs: askMs });
  if (reply.kind !== 'answer') return undefined;
  try {
    return JSON.parse(new TextDecoder().decode(reply.bytes)) as unknown;
  } catch {
    return undefined;
  }
}
