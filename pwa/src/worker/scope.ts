// What this phone may hold of the books, and taking out what it may not hold any more.
//
// Prices are for managers. They are on a phone only while a manager holds it whose session
// lives, all others who are signed in on it are managers too, and it is not shut out. The
// store itself watches over that, in the transaction that would change it: whatever a
// window still believes, prices are taken in only while they may be here (shelf.ts).

import { dropDrafts, readSeated } from './seated';
import type { Seated } from './seated';
import type { Tx } from './store';
import { type Base, type Cursor, noBase, noCursor, type Page, pagesAtOnce, type StoredBase } from './stored';

export type Scope = 'full' | 'plain';

// Cut gives states and pages back without their prices. It must not wait for anything.
export type Cut = (blobs: readonly Uint8Array[]) => readonly Uint8Array[];

export function scopeOf({ session, seats, isShut }: Seated): Scope {
  const holder = seats.find((s) => s.person.id === session.person?.id);
  return !isShut && holder !== undefined && !holder.isOver && seats.every((s) => s.person.role === 'manager')
    ? 'full'
    : 'plain';
}

// isTooMuch tells whether what is stored may hold prices that may not be here any more.
export function isTooMuch(at: Seated, base: Base, cursor: Cursor): boolean {
  return base.scope !== 'plain' && cursor.after > 0 && scopeOf(at) === 'plain';
}

// mayHold tells whether what came on a base may be stored now.
export async function mayHold(tx: Tx, base: Base): Promise<boolean> {
  return base.scope === 'plain' || scopeOf(await readSeated(tx)) === 'full';
}

// shed takes prices out of what is stored when they may not be here any more, and drafts
// that may show some. What cannot be cut goes, to be pulled again. What was recorded here
// stays: it goes out as it was made.
export async function shed(tx: Tx, cut: Cut): Promise<void> {
  const cursor = ((await tx.get('meta', 'cursor')) ?? noCursor) as Cursor,
    base = ((await tx.get('meta', 'base')) ?? noBase) as Base,
    at = await readSeated(tx);
  if (!isTooMuch(at, base, cursor)) return;
  await tx.delete('blobs', 'fold');
  for (const s of at.seats) if (s.person.role === 'manager') await dropDrafts(tx, s.person.id);
  try {
    await cutStored(tx, cursor.epoch, cut);
    await tx.put('meta', 'base', { ...base, scope: 'plain' } satisfies Base);
  } catch {
    await tx.clear('events');
    await tx.delete('blobs', 'base');
    await tx.put('meta', 'base', noBase);
    await tx.put('meta', 'cursor', { ...cursor, after: 0 } satisfies Cursor);
  }
}

// cutStored takes the prices out of everything that was pulled in an epoch.
async function cutStored(tx: Tx, epoch: string, cut: Cut): Promise<void> {
  const stored = (await tx.get('blobs', 'base')) as StoredBase | undefined;
  if (stored !== undefined) {
    const [state = new Uint8Array(), ...pages] = cut([stored.state, ...stored.pages]);
    await tx.put('blobs', 'base', {
      ...stored,
      base: { ...stored.base, scope: 'plain' },
      state,
      pages,
    } satisfies StoredBase);
  }
  for (let from = 0; ;) {
    const pages = (await tx.values('events', [epoch, from], [epoch, Number.MAX_SAFE_INTEGER], pagesAtOnce)) as Page[];
    const last = pages.at(-1);
    if (last === undefined) return;
    const plain = cut(pages.map((p) => p.bytes));
    await Promise.all(
      pages.map((p, i) =>
        tx.put('events', [p.epoch, p.first], { ...p, bytes: plain[i] ?? new Uint8Array() } satisfies Page),
      ),
    );
    from = last.first + 1;
  }
}
