// Trouble in the invented shop: entries that raise whatever the app can say about an
// entry, so that its words are on the screens.
import { desk } from './lib.mjs';

let serial = 0;
function uuid7(ms) {
  const hex = ms.toString(16).padStart(12, '0'),
    tail = (++serial).toString(16).padStart(12, '0');
  return `${hex.slice(0, 8)}-${hex.slice(8)}-7000-8000-${tail}`;
}

// recorder pushes entries one by one, as a phone does whose clock is off by some ms.
function recorder(who, offMs = 0) {
  let n = 0;
  return async (kind, body, v = 1) => {
    const ms = Date.now() + offMs,
      clock = { wall_ms: ms, mono_ms: ++n * 1000, segment: 's' };
    const entry = {
      id: uuid7(ms),
      kind,
      v,
      by: who.person.id,
      device: who.device,
      n,
      at: new Date(ms).toISOString(),
      clock,
      body,
    };
    const {
      results: [r],
    } = await who.call('POST', 'push', { now: clock, entries: [entry] });
    return r;
  };
}

// makeTrouble gives a way to fresh sign-in codes for each role; those of the shop are
// used up.
export async function makeTrouble(shop) {
  const manager = await desk(shop, shop.codes.manager, 'desk-manager');
  const invite = async (person) => /#in=(\S+)/.exec((await manager.call('POST', `people/${person}/invite`)).link)[1];
  const coater = await desk(shop, shop.codes.coater, 'desk-coater'),
    late = await desk(shop, await invite('davi'), 'desk-late');
  const office = recorder(manager),
    booth = recorder(coater),
    wrong = recorder(late, 20 * 60_000);
  const move = (from, to, lot, kg, why) =>
    booth('powder.moved', {
      from,
      to,
      mass_mg: kg * 1e6,
      ...(lot === '' ? {} : { lot }),
      ...(why === undefined ? {} : { why }),
    });

  await office('setup.set', {
    setup: 'set-hard',
    name: 'White, too hard',
    booth: 'booth-1',
    powder: 'salt-white',
    main_kpa: 400,
    extra_kpa: 20,
    kv: 110,
    ua: 60,
  });
  await office('lot.held', { lot: 'lot-t077', why: 'Damaged box' });
  await booth('ground.checked', { booth: 'booth-1', ok: false, ohm: 2_000_000 });
  await booth('room.read', { place: 'rack-a', temp_dc: 380, rh_pm: 850 });
  await booth('cure.read', {
    run: 'run-4',
    points: [
      { s: 0, temp_dc: 200 },
      { s: 600, temp_dc: 1820 },
      { s: 660, temp_dc: 900 },
    ],
  });
  await booth('output.tested', { booth: 'booth-1', powder: 'salt-white', main_kpa: 300, mg_per_min: 900_000 });
  await move('rack-b', 'bin-black', 'lot-k020', 2);
  await move('rack-b', 'hopper-1', 'lot-t077', 1);
  await move('rack-a', 'hopper-1', 'lot-k107', 3);
  await move('rack-a', 'drum', 'lot-w412', 500, 'purged');
  await move('rack-a', 'hopper-1', 'never', 1); // a lot that nobody received
  await move('nowhere', 'hopper-1', '', 1); // a place that nobody set up
  await booth('powder.recovered', {
    run: 'run-4',
    from: 'hopper-1',
    to: 'bin-white',
    mass_mg: 3_000_000,
    sieved: false,
  });
  await move('bin-white', 'hopper-1', '', 9);
  await booth('place.weighed', { place: 'bin-white', mass_mg: 39_000_000 });
  await booth('parts.coated', { run: 'elsewhere', job: 'Lost 1', count: 3, area_cm2: 900, coats: 1 }); // a run that nobody opened
  await booth('change.finished', { booth: 'booth-1', change: uuid7(Date.now()), checks: ['gun'], first_part: 'no' });
  await booth('change.started', { booth: 'booth-1', powder: 'kiln-black', level: 'purge', crew: 1 });
  await booth('booth.cleaned', { booth: 'booth-1', level: 'purge', minutes: 4, crew: 1, checks: ['gun'] });
  await office('booth.set', { booth: 'booth-9', name: 'Booth 9' }); // where no change is running
  await booth('run.opened', {
    run: 'run-loop',
    booth: 'booth-1',
    powder: 'kiln-black',
    feed: 'hopper-1',
    mode: 'loop',
    setup: 'set-hard',
  });
  await booth('booth.set', { booth: 'booth-2', name: 'Booth 2' }); // held: no task of a coater
  const { id } = await booth('entry.noted', {
    entry: uuid7(Date.now()),
    text: '[reclaim_over over_capacity] Job is urgent',
  });
  await booth('entry.voided', { entry: id, why: 'Entered twice' });
  await booth('future.thing', { of: 'a newer version' });
  await wrong('ground.checked', { booth: 'booth-1', ok: true });
  await office('person.set', { person: 'elia', name: 'Elia Brandt', role: 'coater', gone: true });
  return (role) => invite({ coater: 'davi', clerk: 'noor', manager: 'rosa' }[role]);
}
