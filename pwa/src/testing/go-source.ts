// For tests only: what the Go source of the core says, read as text. Tests run from pwa/.

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

// source is all Go of a folder below the top, without its tests and remarks.
export function source(dir: string): string {
  const files = readdirSync(join('..', dir)).filter((f) => f.endsWith('.go') && !f.endsWith('_test.go'));
  return files.map((f) => readFileSync(join('..', dir, f), 'utf8').replace(/(^|\s)\/\/.*$/gm, '$1')).join('\n');
}

function found(dir: string, pattern: RegExp): string[] {
  return [...new Set([...source(dir).matchAll(pattern)].map((m) => m[1] ?? ''))];
}

// constants are the words that the source gives a name: Full Level = "full".
export const constants = (dir: string): string[] =>
  found(dir, /^\s*(?:const )?\w+(?:\s+[A-Z]\w*)?\s*=\s*"([a-z][a-z0-9_]*)"/gm);

// dotted are the texts that look like a code: "advice.main_up".
export const dotted = (dir: string): string[] => found(dir, /"([a-z][a-z0-9]*(?:\.[a-z][a-z0-9_]*)+)"/g);
