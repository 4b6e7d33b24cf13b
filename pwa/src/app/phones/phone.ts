// A phone of the shop in words. Pure.

import type { PhoneInfo } from '../../bridge/api';

// phoneName is what people call it, else its number in order of first sign-in.
export function phoneName(p: Pick<PhoneInfo, 'name' | 'number'>, numbered: (n: number) => string): string {
  return p.name !== '' ? p.name : numbered(p.number);
}

// offBy is how far a clock is off, as "+2 d" or "-7 min": the phone's clock less the
// server's. The server tells the opposite: what must be added to the phone's.
export function offBy(offsetMs: number): string {
  const s = Math.round(Math.abs(offsetMs) / 1000),
    sign = offsetMs > 0 ? '-' : '+';
  if (s < 120) return `${sign}${s} s`;
  if (s < 7_200) return `${sign}${Math.round(s / 60)} min`;
  if (s < 172_800) return `${sign}${Math.round(s / 3_600)} h`;
  return `${sign}${Math.round(s / 86_400)} d`;
}
