// Picks the word for a number by the rules of the language.

const rules = { en: new Intl.PluralRules('en'), es: new Intl.PluralRules('es') };

export function plural(lang: 'en' | 'es', n: number, one: string, other: string): string {
  return rules[lang].select(n) === 'one' ? one : other;
}
