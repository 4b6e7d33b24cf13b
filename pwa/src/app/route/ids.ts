// Ids of things, told apart by the compiler. They are plain texts at run time.

declare const brand: unique symbol;
export type Id<Kind extends string> = string & { readonly [brand]?: Kind };

export type BoothId = Id<'booth'>;
export type PlaceId = Id<'place'>;
export type LotId = Id<'lot'>;
export type RunId = Id<'run'>;
export type PowderId = Id<'powder'>;
export type EntryId = Id<'entry'>;
export type PersonId = Id<'person'>;
