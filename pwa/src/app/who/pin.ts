// What may stand in a PIN while it is typed. Pure.

export const pinMin = 4, pinMax = 6;

export function isWhole(digits: string): boolean { return digits.length >= pinMin && digits.length <= pinMax; }

// press adds what was typed, digits only and not too many.
export function press(digits: string, typed: string): string {
  return (digits + typed.replace(/[^0-9]/g, '')).slice(0, pinMax);
}
