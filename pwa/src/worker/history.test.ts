import assert from 'node:assert/strict';
import { test } from 'node:test';
import { ProblemError } from '../shared/problem';
import { askServer } from './history';
import type { Reply } from './net';

const refused = (status: number, code: string): Reply => ({
  kind: 'problem',
  status,
  code,
  title: '',
  detail: '',
  retryMs: 0,
  server: 's',
});
const answer = (text: string): Reply => ({
  kind: 'answer',
  status: 200,
  bytes: new TextEncoder().encode(text),
  server: 's',
});

// asked plays replies of the server one after the other and notes what was asked.
async function asked(...replies: Reply[]): Promise<{ paths: string[]; value?: unknown; code?: string }> {
  const paths: string[] = [];
  const tokens = {
    ask: (_: string, path: string): Promise<Reply> => {
      paths.push(path);
      return Promise.resolve(replies.shift() ?? { kind: 'none', why: 'asked too often' });
    },
  };
  try {
    const how = { lang: 'en', units: 'us' } as const;
    return { paths, value: await askServer(tokens, 'p', 'trace', { lot: 'a&b', min_pm: 0 }, how, 7, -60) };
  } catch (e) {
    assert.ok(e instanceof ProblemError);
    return { paths, code: e.problem.code };
  }
}

test('the server is asked for what this phone would show', async () => {
  const { paths, value } = await asked(answer('{"runs":[]}'));
  assert.deepEqual(paths, ['/api/v1/export/trace.json?lang=en&units=us&now_ms=7&offset_min=-60&lot=a%26b&min_pm=0']);
  assert.deepEqual(value, { runs: [] });
});

test('an access token that ran out is renewed once, and a session that is over says so', async () => {
  assert.deepEqual((await asked(refused(401, 'auth.expired'), answer('[]'))).value, []);
  assert.equal((await asked(refused(401, 'auth.expired'), refused(401, 'auth.ended'))).code, 'auth.ended');
});

test('no answer, a refusal and a senseless answer are told apart from an empty one', async () => {
  assert.equal((await asked({ kind: 'none', why: 'TimeoutError' })).code, 'no_server');
  assert.equal((await asked(refused(422, 'request.field'))).code, 'request.field');
  assert.equal((await asked(answer('<html>'))).code, 'no_server');
});
