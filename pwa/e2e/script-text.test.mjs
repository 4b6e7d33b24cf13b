// Markup and script in every text and every id of every kind of entry: on every screen
// they are text. Nothing is injected, nothing runs, the policy has nothing to stop.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { desk, openBrowser, openPhone, openShop } from './lib.mjs';

const domain = new URL('../../domain/kind/', import.meta.url);
let shop, browser;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

// Each payload is another, so that one can be told from the next on a screen.
const payloads = [];
function evil() {
  const n = payloads.length;
  const text = [
    `<img src=x onerror=alert(${n})>`,
    `"><script>alert(${n})</script>`,
    `<svg/onload=alert(${n})>`,
    `'-alert(${n})-'<a href=javascript:alert(${n})>`,
  ][n % 4];
  payloads.push(text);
  return text;
}

const id = Object.fromEntries(
  ['powder', 'booth', 'shelf', 'hopper', 'bin', 'person', 'lot', 'run', 'job', 'setup', 'change', 'check'].map((k) => [
    k,
    evil(),
  ]),
);
const day = (n) => new Date(Date.now() + n * 86_400_000).toISOString().slice(0, 10);

// bodies of every kind, in an order in which each finds what it names.
const bodies = [
  [
    'powder.set',
    {
      powder: id.powder,
      name: evil(),
      maker: evil(),
      code: evil(),
      chemistry: 'polyester',
      finish: 'gloss',
      sg_milli: 1500,
      film_um10: { min: 600, target: 750, max: 950 },
      reclaim_max_pm: 300,
    },
  ],
  ['booth.set', { booth: id.booth, name: evil() }],
  ['place.set', { place: id.shelf, name: evil(), kind: 'shelf' }],
  ['place.set', { place: id.hopper, name: evil(), kind: 'vessel', booth: id.booth }],
  ['place.set', { place: id.bin, name: evil(), kind: 'vessel', booth: id.booth }],
  ['person.set', { person: id.person, name: evil(), role: 'coater' }],
  [
    'setup.set',
    {
      setup: id.setup,
      name: evil(),
      booth: id.booth,
      powder: id.powder,
      parts: evil(),
      charging: evil(),
      nozzle: evil(),
    },
  ],
  ['lot.received', { lot: id.lot, powder: id.powder, batch: evil(), place: id.shelf, mass_mg: 40_000_000 }],
  ['lot.held', { lot: id.lot, why: evil() }],
  ['lot.released', { lot: id.lot, why: evil() }],
  ['change.started', { booth: id.booth, powder: id.powder, level: 'full', crew: 1 }],
  ['change.finished', { booth: id.booth, change: '(the change)', checks: [id.check], first_part: evil() }],
  ['booth.cleaned', { booth: id.booth, level: 'full', minutes: 9, crew: 1, checks: [id.check] }],
  ['powder.moved', { from: id.shelf, to: id.hopper, lot: id.lot, mass_mg: 20_000_000, why: evil() }],
  [
    'run.opened',
    { run: id.run, booth: id.booth, powder: id.powder, feed: id.hopper, mode: 'collect', setup: id.setup },
  ],
  ['parts.coated', { run: id.run, job: id.job, count: 10, area_cm2: 1000, coats: 1 }],
  ['film.read', { run: id.run, spots: [700, 720, 710] }],
  ['place.weighed', { place: id.hopper, mass_mg: 12_000_000 }],
  ['powder.recovered', { run: id.run, from: id.hopper, to: id.bin, mass_mg: 2_000_000, sieved: false }],
  ['output.tested', { booth: id.booth, powder: id.powder, main_kpa: 200, mg_per_min: 200_000 }],
  ['deposit.tested', { booth: id.booth, powder: id.powder, mg_per_min: 200_000, te_pm: 600 }],
  [
    'cure.read',
    {
      run: id.run,
      points: [
        { s: 0, temp_dc: 200 },
        { s: 600, temp_dc: 2000 },
      ],
    },
  ],
  ['room.read', { place: id.shelf, temp_dc: 210 }],
  ['ground.checked', { booth: id.booth, ok: true }],
  ['job.planned', { job: id.job, powder: id.powder, count: 10, area_cm2: 1000, due: day(2) }],
  ['run.closed', { run: id.run }],
  ['entry.noted', { entry: '(the first)', text: evil() }],
  ['entry.voided', { entry: '(the cleaning)', why: evil() }],
  ['entry.declined', { entry: '(a held one)', why: evil() }],
  ['entry.released', { entry: '(another held one)', why: evil() }],
  ['shop.set', { name: evil(), zone: '<i>zone</i>', units: 'metric', currency: '<b>', lang: 'en' }],
];
const closing = ['books.closed']; // its one text is a time and must read as one

test('every kind and every text field of every kind is among them', () => {
  const table = readFileSync(new URL('table.go', domain), 'utf8');
  const kinds = [...table.matchAll(/^\t\{"([a-z]+\.[a-z]+)", [A-Z]/gm)].map((m) => m[1]);
  assert.ok(kinds.length >= 25, `only ${kinds.length} kinds were found in the table`);
  const here = new Set(bodies.map(([kind]) => kind));
  assert.deepEqual(
    kinds.filter((k) => !here.has(k) && !closing.includes(k)),
    [],
  );
  const files = readdirSync(domain).filter((f) => f.endsWith('.go') && !f.endsWith('_test.go'));
  const source = files.map((f) => readFileSync(new URL(f, domain), 'utf8')).join('\n');
  const texts = new Set([...source.matchAll(/v\.(?:Opt)?Text\("([a-z_]+)"/g)].map((m) => m[1]));
  assert.ok(texts.size >= 10, `only ${texts.size} texts were found in the bodies`);
  const used = new Set(bodies.flatMap(([, b]) => Object.keys(b)));
  assert.deepEqual(
    [...texts].filter((t) => !used.has(t) && t !== 'through'),
    [],
  );
});

let serial = 0;
function uuid7(ms) {
  const hex = ms.toString(16).padStart(12, '0'),
    tail = (++serial).toString(16).padStart(12, '0');
  return `${hex.slice(0, 8)}-${hex.slice(8)}-7000-8000-${tail}`;
}

// record pushes one entry as a phone does and gives its id and what became of it.
async function record(who, kind, body, n) {
  const ms = Date.now(),
    entry = {
      id: uuid7(ms),
      kind,
      v: 1,
      by: who.person.id,
      device: who.device,
      n,
      at: new Date(ms).toISOString(),
      clock: { wall_ms: ms, mono_ms: n, segment: 's' },
      body,
    };
  const { results } = await who.call('POST', 'push', {
    now: { wall_ms: ms, mono_ms: n, segment: 's' },
    entries: [entry],
  });
  return results[0];
}

// go leads the page to a screen and ends once it is drawn: what is looked for there
// might stand on the screen before, too.
const go = (hash) =>
  new Promise((ok) => {
    const was = location.href;
    window.addEventListener('hashchange', () => requestAnimationFrame(() => requestAnimationFrame(ok)), { once: true });
    location.hash = hash;
    if (location.href === was) ok();
  });

test('on every screen they stand as text', async () => {
  const manager = await desk(shop, shop.codes.manager, evil()),
    coater = await desk(shop, shop.codes.coater, evil());
  const made = {};
  // Two that are held: a coater sets no powder.
  const held = [];
  for (const n of [1, 2]) held.push((await record(coater, 'booth.set', { booth: evil(), name: evil() }, n)).id);
  let n = 0;
  for (const [kind, body] of bodies) {
    const b = { ...body };
    if (kind === 'change.finished') b.change = made['change.started'];
    if (kind === 'entry.noted') b.entry = made['powder.moved'];
    if (kind === 'entry.voided') b.entry = made['booth.cleaned'];
    if (kind === 'entry.declined') b.entry = held[0];
    if (kind === 'entry.released') b.entry = held[1];
    const r = await record(manager, kind, b, ++n);
    assert.equal(r.outcome, 'accepted', `${kind}: ${JSON.stringify(r)}`);
    made[kind] = r.id;
  }
  await manager.call('POST', `phones/${encodeURIComponent(coater.device)}/name`, {
    name: '<img src=x onerror=alert(99)>',
  });

  const seen = new Set();
  for (const role of ['manager', 'coater']) {
    const phone = await openPhone(browser, { reducedMotion: 'reduce' });
    const page = await phone.newPage();
    const faults = [];
    page.on('dialog', (d) => {
      faults.push(`dialog ${d.message()}`);
      void d.dismiss();
    });
    page.on('pageerror', (e) => faults.push(`error ${e.message}`));
    page.on('request', (r) => {
      if (!r.url().startsWith(shop.url)) faults.push(`request ${r.url()}`);
    });
    await page.addInitScript(() => {
      window.violations = [];
      document.addEventListener('securitypolicyviolation', (e) =>
        window.violations.push(`${e.violatedDirective} ${e.blockedURI} ${e.sample}`),
      );
    });
    await page.goto(`${shop.url}/#in=${shop.codes[role]}`);
    await page.getByRole('button', { name: 'Sign in' }).first().click();
    await page.getByRole('navigation', { name: 'Sections' }).waitFor();
    await page.getByRole('banner').getByText('All sent').waitFor();

    const enc = encodeURIComponent;
    const screens = [
      '#/',
      '#/booth',
      `#/booth/${enc(id.booth)}`,
      '#/room',
      '#/office',
      '#/attention',
      '#/people',
      '#/settings',
      '#/status',
      '#/who',
      '#/phones',
      '#/first',
      '#/trace',
      '#/entries',
      '#/sums',
      `#/person/${enc(id.person)}`,
      `#/powder/${enc(id.powder)}`,
      `#/lot/${enc(id.lot)}`,
      `#/run/${enc(id.run)}`,
      `#/trace/lot/${enc(id.lot)}`,
      `#/trace/job/${enc(id.job)}`,
      ...['shelf', 'hopper', 'bin'].map((k) => `#/place/${enc(id[k])}`),
      ...Object.values(made).map((e) => `#/entry/${e}`),
      ...held.map((e) => `#/entry/${e}`),
      ...['run', 'lot', 'powder'].map((by) => `#/entries/${by}/${enc(id[by])}`),
      ...[
        'change.start',
        'change.finish',
        'charge',
        'weigh',
        'recover',
        'clean',
        'parts',
        'film',
        'scrap',
        'run.close',
      ].map((t) => `#/do/${t}?booth=${enc(id.booth)}&run=${enc(id.run)}&place=${enc(id.hopper)}`),
      ...['receive', 'move', 'set.shop', 'set.place', 'set.person'].map((t) => `#/do/${t}`),
      `#/do/set.powder?powder=${enc(id.powder)}`,
      `#/do/set.booth?booth=${enc(id.booth)}`,
      `#/do/set.place?place=${enc(id.hopper)}`,
      `#/do/set.person?person=${enc(id.person)}`,
      `#/do/partbox?lot=${enc(id.lot)}`,
      `#/do/hold?lot=${enc(id.lot)}`,
      `#/do/void?entry=${made['powder.moved']}`,
      `#/do/note?entry=${made['powder.moved']}`,
    ];
    for (const hash of screens) {
      await page.evaluate(go, hash);
      await page.getByRole('heading', { level: 1 }).first().waitFor({ state: 'attached' });
      await page.getByText('Reading the books…').first().waitFor({ state: 'hidden' });
      await page.evaluate(() => new Promise((ok) => requestIdleCallback(ok)));
      const { text, bad } = await page.evaluate(() => ({
        text: [
          document.title,
          document.body.innerText,
          ...[...document.querySelectorAll('input,textarea,select option')].map((e) => e.value + ' ' + (e.label ?? '')),
          ...[...document.querySelectorAll('[aria-label]')].map((e) => e.getAttribute('aria-label')),
          ...[...document.querySelectorAll('svg text, option')].map((e) => e.textContent),
        ].join('\n'),
        bad: [
          ...document.querySelectorAll(
            'img, iframe, object, embed, #app script, [onerror], [onload], a[href^="javascript"]',
          ),
        ].map((e) => e.outerHTML.slice(0, 120)),
      }));
      assert.deepEqual(bad, [], `${role} at ${hash}`);
      for (const p of payloads) if (text.includes(p)) seen.add(p);
    }
    assert.deepEqual(await page.evaluate(() => window.violations), [], role);
    assert.deepEqual(faults, [], role);
    await phone.close();
  }
  const ids = new Set([...Object.values(id), manager.device, coater.device]);
  const unseen = payloads.filter((p) => !seen.has(p) && !ids.has(p));
  console.log(
    `${payloads.length} payloads, ${seen.size} of them read as text on some screen; not shown anywhere: ${unseen.join(' | ') || 'none'}`,
  );
  assert.ok(seen.size >= 25, `only ${seen.size} were seen at all: ${unseen.join(' | ')}`);
});
