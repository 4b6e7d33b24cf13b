// The 10 000 entries that every side sends and fetches: eleven busy days of a shop with two
// booths, invented, the same for all from one seed. An entry is what a phone makes
// (design of sync/entry): an envelope with a random id and a body by kind.

// random gives numbers in [0, 1) from a seed (mulberry32, public domain).
function random(seed) {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const hex = (r, digits) => Array.from({ length: digits }, () => Math.floor(r() * 16).toString(16)).join('');

// idAt is a UUIDv7 (RFC 9562) with randomness from r.
function idAt(ms, r) {
  const t = ms.toString(16).padStart(12, '0');
  return `${t.slice(0, 8)}-${t.slice(8)}-7${hex(r, 3)}-${'89ab'[Math.floor(r() * 4)]}${hex(r, 3)}-${hex(r, 12)}`;
}

const powders = ['salt-white', 'kiln-black', 'harbour-grey', 'signal-orange', 'moss-green', 'slate-blue'];

// script gives kinds and bodies without end: the shop's furniture first, then one run
// after the other.
function* script(r) {
  const mg = (lo, hi) => Math.round((lo + r() * (hi - lo)) * 1e6);
  for (const p of powders)
    yield [
      'powder.set',
      {
        powder: p,
        name: p.replace('-', ' '),
        chemistry: 'polyester',
        finish: 'gloss',
        sg_milli: 1450 + Math.floor(r() * 200),
        film_um10: { min: 600, target: 700, max: 900 },
        reclaim_max_pm: 500,
        passes_max: 8,
      },
    ];
  for (const b of [1, 2])
    yield ['booth.set', { booth: `booth-${b}`, name: `Booth ${b}`, exhaust_m3h: 12000, te_pm: 600, recovery_pm: 930 }];
  yield ['place.set', { place: 'rack', name: 'Rack', kind: 'shelf' }];
  for (const b of [1, 2]) {
    yield ['place.set', { place: `hopper-${b}`, name: `Hopper ${b}`, kind: 'vessel', booth: `booth-${b}` }];
    yield ['place.set', { place: `bin-${b}`, name: `Reclaim bin ${b}`, kind: 'vessel', booth: `booth-${b}` }];
    yield ['place.set', { place: `drum-${b}`, name: `Scrap drum ${b}`, kind: 'scrap', booth: `booth-${b}` }];
  }
  for (let run = 1; ; run++) {
    const b = 1 + (run & 1),
      powder = powders[run % powders.length],
      lot = `L${String(1000 + run)}`,
      name = `run-${run}`;
    const hopper = `hopper-${b}`,
      bin = `bin-${b}`,
      filled = mg(12, 20),
      left = Math.round(filled * 0.4);
    yield ['lot.received', { lot, powder, batch: `B-${hex(r, 6)}`, place: 'rack', mass_mg: mg(20, 25), packs: 1 }];
    yield ['change.started', { booth: `booth-${b}`, powder, level: 'full', crew: 2 }];
    yield ['booth.cleaned', { booth: `booth-${b}`, level: 'full', minutes: 15 + Math.floor(r() * 30), crew: 2 }];
    yield ['powder.moved', { from: 'rack', to: hopper, mass_mg: filled, lot }];
    yield ['run.opened', { run: name, booth: `booth-${b}`, powder, feed: hopper, mode: 'collect' }];
    for (let i = 1; i <= 3; i++) {
      yield ['place.weighed', { place: hopper, mass_mg: filled - Math.round((filled - left) * (i / 3)), sd_mg: 10000 }];
      yield ['film.read', { run: name, spots: Array.from({ length: 5 }, () => 600 + Math.floor(r() * 300)) }];
      yield [
        'parts.coated',
        { run: name, job: `job-${run}`, count: 20 + Math.floor(r() * 60), area_cm2: 2000 + Math.floor(r() * 4000) },
      ];
    }
    yield ['powder.recovered', { run: name, from: hopper, to: bin, mass_mg: mg(1, 2), sieved: true }];
    yield ['place.weighed', { place: bin, mass_mg: mg(1, 3), sd_mg: 10000 }];
    yield ['run.closed', { run: name }];
    yield ['powder.moved', { from: hopper, to: `drum-${b}`, mass_mg: Math.round(left / 2), why: 'colour change' }];
    yield ['powder.moved', { from: hopper, to: 'rack', mass_mg: Math.round(left / 4) }];
  }
}

// entries makes count of them by one person on one device, the last a minute ago.
export function entries({ count, by, device, epoch, endMs }) {
  const r = random(7),
    out = [],
    from = script(r),
    segment = idAt(endMs, r);
  for (let n = 1; n <= count; n++) {
    const at = endMs - (count - n) * 100_000,
      [kind, body] = from.next().value; // eleven days, inside the stretch of the log that every phone keeps
    const clock = { wall_ms: at, mono_ms: n * 100_000, segment };
    out.push({
      id: idAt(at, r),
      kind,
      v: 1,
      by,
      device,
      n,
      at: new Date(at).toISOString(),
      clock,
      seen: { epoch, seq: 2 },
      body,
    });
  }
  return out;
}
