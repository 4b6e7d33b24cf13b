// The first-run form: what it holds and what is wrong with it. Pure but for the zone.

export interface SetUpTyped {
  shop: string;
  zone: string;
  units: string;
  currency: string;
  lang: string;
  name: string;
  passphrase: string;
  again: string;
}

export const passphraseMin = 10; // characters; long beats odd

export type SetUpFaults = Partial<Record<keyof SetUpTyped, 'form.missing' | 'pass.short' | 'pass.differs'>>;

export function faultsOf(t: SetUpTyped): SetUpFaults {
  const out: SetUpFaults = {};
  for (const field of ['shop', 'zone', 'currency', 'name'] as const)
    if (t[field].trim() === '') out[field] = 'form.missing';
  return { ...out, ...passFaults(t.passphrase, t.again) };
}

// passFaults is what is wrong with a passphrase typed twice.
export function passFaults(passphrase: string, again: string): { passphrase?: 'pass.short'; again?: 'pass.differs' } {
  return {
    ...([...passphrase].length < passphraseMin ? { passphrase: 'pass.short' as const } : {}),
    ...(again !== passphrase ? { again: 'pass.differs' as const } : {}),
  };
}

export function localZone(): string {
  return Intl.DateTimeFormat().resolvedOptions().timeZone;
}

// zones are all IANA zones the browser knows, the phone's own among them in any case.
export function zones(): string[] {
  const all = Intl.supportedValuesOf('timeZone'),
    own = localZone();
  return all.includes(own) ? all : [own, ...all];
}

// currencies are ISO 4217 codes; the usual ones first.
export function currencies(): string[] {
  const first = ['EUR', 'USD', 'MXN', 'GBP', 'COP', 'ARS', 'CLP', 'PEN'];
  return [...first, ...Intl.supportedValuesOf('currency').filter((c) => !first.includes(c))];
}
