// Who has a PIN, and what may stand in it while it is typed. Pure.

import type { Role, SeatView } from '../../bridge/api';

export const pinMin = 4,
  pinMax = 6;

export function isWhole(digits: string): boolean {
  return digits.length >= pinMin && digits.length <= pinMax;
}

// press adds what was typed, digits only and not too many.
export function press(digits: string, typed: string): string {
  return (digits + typed.replace(/[^0-9]/g, '')).slice(0, pinMax);
}

// mayHavePin: a manager has none. It would protect no session (server/auth/moment.go).
export function mayHavePin(role: Role): boolean {
  return role !== 'manager';
}

// shouldChoosePin tells whether somebody who signs in beside these others needs one to come
// back without a network.
export function shouldChoosePin(person: { id: string; role: Role }, seats: readonly SeatView[]): boolean {
  return (
    mayHavePin(person.role) &&
    seats.some((s) => s.id !== person.id) &&
    !seats.some((s) => s.id === person.id && s.hasPin)
  );
}
