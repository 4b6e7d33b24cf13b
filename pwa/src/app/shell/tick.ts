import { useEffect, useState } from 'preact/hooks';

// useTick gives the time and draws again every `ms`, so that ages on the screen grow.
export function useTick(ms: number): number {
  const [now, setNow] = useState(Date.now);
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), ms);
    return () => clearInterval(timer);
  }, [ms]);
  return now;
}
