import type { Problem } from '../bridge/api';

// ProblemError carries a Problem through code that throws.
export class ProblemError extends Error {
  readonly problem: Problem;
  constructor(code: string, title: string, detail?: string) {
    super(detail === undefined ? `${code}: ${title}` : `${code}: ${title} (${detail})`);
    this.name = 'ProblemError';
    this.problem = detail === undefined ? { code, title } : { code, title, detail };
  }
}

// problemOf turns whatever was thrown into a Problem; what nobody foresaw is "internal".
export function problemOf(thrown: unknown): Problem {
  if (thrown instanceof ProblemError) return thrown.problem;
  if (thrown instanceof Error)
    return { code: 'internal', title: 'something went wrong inside', detail: `${thrown.name}: ${thrown.message}` };
  return { code: 'internal', title: 'something went wrong inside', detail: String(thrown) };
}
