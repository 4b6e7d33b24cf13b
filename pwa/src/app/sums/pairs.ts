// Pairs are codes with their words in English and Spanish.
export type Pairs = Readonly<Record<string, readonly [en: string, es: string]>>;
