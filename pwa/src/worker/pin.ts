// The PIN by which people change over on a shared phone without a network. It keeps
// entries under the right name; it is no lock against somebody who takes the phone
// apart: four digits have ten thousand values, whatever they cost to try.

// Pin also tells how many digits it has, so that the last one is the last tap.
export interface Pin {
  salt: Uint8Array;
  hash: Uint8Array;
  rounds: number;
  digits: number;
}

export const pinMin = 4,
  pinMax = 6; // digits
// Our rule: as many rounds as cost about half a second on a phone. Stored with each
// PIN, so the number can rise.
export const pinRounds = 600_000;
const hashBits = 256,
  saltBytes = 16;
const freeTries = 3;
const waitMaxMs = 60_000;

export function isPin(text: string): boolean {
  return new RegExp(`^[0-9]{${pinMin},${pinMax}}$`).test(text);
}

export async function makePin(digits: string, noise: (bytes: number) => Uint8Array, rounds = pinRounds): Promise<Pin> {
  const salt = noise(saltBytes);
  return { salt, hash: await derive(digits, salt, rounds), rounds, digits: digits.length };
}

export async function matches(pin: Pin, digits: string): Promise<boolean> {
  const got = await derive(digits, pin.salt, pin.rounds);
  let off = got.length ^ pin.hash.length;
  for (let i = 0; i < got.length; i++) off |= (got[i] ?? 0) ^ (pin.hash[i] ?? 0);
  return off === 0;
}

// waitAfter is how long to wait after so many wrong tries in a row: nothing at first,
// then 1 s, doubling to a minute. It never becomes for ever.
export function waitAfter(wrong: number): number {
  return wrong < freeTries ? 0 : Math.min(1_000 * 2 ** (wrong - freeTries), waitMaxMs);
}

// waitLeft is what is left of a wait by a clock that may have been set meanwhile: a
// wait longer than any that was given is an old one.
export function waitLeft(untilMs: number, nowMs: number): number {
  const left = untilMs - nowMs;
  return left > 0 && left <= waitMaxMs ? left : 0;
}

async function derive(digits: string, salt: Uint8Array, rounds: number): Promise<Uint8Array> {
  const key = await crypto.subtle.importKey('raw', new TextEncoder().encode(digits), 'PBKDF2', false, ['deriveBits']);
  return new Uint8Array(
    await crypto.subtle.deriveBits(
      { name: 'PBKDF2', hash: 'SHA-256', salt: salt as BufferSource, iterations: rounds },
      key,
      hashBits,
    ),
  );
}
