// What only the server knows: asked when a screen opens, and again on demand.

import { useEffect, useState } from 'preact/hooks';
import { problemOf, type Loaded } from './store';

export function useAnswer<T>(ask: () => Promise<T>): { of: Loaded<T>; again: () => void } {
  const [of, set] = useState<Loaded<T>>({ kind: 'waiting' });
  const [turn, setTurn] = useState(0);
  useEffect(() => {
    let isGone = false;
    ask().then(
      (value) => {
        if (!isGone) set({ kind: 'here', value });
      },
      (e: unknown) => {
        if (!isGone) set({ kind: 'failed', problem: problemOf(e) });
      },
    );
    return () => {
      isGone = true;
    };
  }, [turn]);
  return { of, again: () => setTurn((n) => n + 1) };
}
