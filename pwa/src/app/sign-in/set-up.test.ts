import assert from 'node:assert/strict';
import { test } from 'node:test';
import { currencies, faultsOf, passphraseMin, zones, localZone, type SetUpTyped } from './set-up';

const good: SetUpTyped = {
  shop: 'Nave 4',
  zone: 'Europe/Madrid',
  units: 'metric',
  currency: 'EUR',
  lang: 'es',
  name: 'Ana',
  passphrase: 'a'.repeat(passphraseMin),
  again: 'a'.repeat(passphraseMin),
};

test('a complete form has no faults', () => assert.deepEqual(faultsOf(good), {}));
test('blanks do not count as a name', () =>
  assert.deepEqual(faultsOf({ ...good, shop: '  ' }), { shop: 'form.missing' }));
test('a passphrase one character short is refused', () => {
  const p = 'a'.repeat(passphraseMin - 1);
  assert.deepEqual(faultsOf({ ...good, passphrase: p, again: p }), { passphrase: 'pass.short' });
});
test('both passphrases must be the same', () =>
  assert.deepEqual(faultsOf({ ...good, again: 'b' }), { again: 'pass.differs' }));
test('the phone’s own zone is among the zones, every currency stands once', () => {
  assert.ok(zones().includes(localZone()));
  assert.equal(new Set(currencies()).size, currencies().length);
});
