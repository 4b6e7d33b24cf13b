// The server is lost a while after its backup. The backup is restored under the same
// address; the phones come back and send again what it lacks.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import {
  buildBench,
  desk,
  enter,
  eventually,
  installed,
  openBrowser,
  openDoor,
  openPhone,
  openShop,
  outbox,
  sent,
  signIn,
  until,
  weigh,
} from './lib.mjs';

let shop, door, browser, folder;
before(async () => {
  folder = mkdtempSync(join(tmpdir(), 'backup-'));
  const dist = buildBench('v1');
  [shop, browser] = await Promise.all([openShop(), openBrowser()]);
  door = await openDoor(shop, dist);
});
after(async () => {
  await browser?.close();
  await door?.close();
  await shop?.close();
  rmSync(folder, { recursive: true, force: true });
});

test('phones refill a server that was restored from an older backup, each entry once', async () => {
  const roles = ['coater', 'clerk', 'manager'];
  const phones = await Promise.all(
    roles.map(async (role) => {
      const context = await openPhone(browser);
      const page = await enter(context, door);
      await signIn(page, shop.codes[role]);
      await installed(page);
      return { role, context, page, ids: [], signIns: 0 };
    }),
  );
  const work = async (phone, times) => {
    for (let i = 0; i < times; i++) phone.ids.push(...(await weigh(phone.page, 1000 + phone.ids.length)).ids);
  };
  for (const phone of phones) await work(phone, 3);
  for (const phone of phones) await sent(phone.page);

  const file = join(folder, 'monday');
  await shop.backup(file);
  for (const phone of phones) {
    // what a backup holds, a phone may let go of
    await phone.page.evaluate(() => window.bench.core.syncNow());
    await eventually(async () => (await outbox(phone.page)).length === 0);
    await until(phone.page, () => window.bench.status?.upkeep.backupMs > Date.now() - 3_600_000); // and the office shows when
  }

  const [coater, clerk, manager] = phones;
  await work(coater, 4);
  await work(clerk, 2);
  await sent(coater.page);
  await sent(clerk.page);
  await coater.page.reload(); // exchanges its session: the backup knows the old one only
  await coater.page.getByText(/^ready/).waitFor();
  await sent(coater.page);
  await coater.page.close(); // in the pocket over night
  await manager.context.setOffline(true);
  await work(manager, 2);
  await shop.restore(file);

  const witness = await desk(shop, shop.codes.manager);
  const before = await witness.log();
  await manager.context.setOffline(false);
  coater.page = await coater.context.newPage();
  await coater.page.goto(door.url + '/');
  await coater.page.getByText(/^ready/).waitFor();
  for (const phone of phones) {
    await phone.page.evaluate(() => window.bench.core.syncNow());
    // What the phone says of itself may be of before the restore: the server knows better.
    await eventually(async () => {
      if (
        await phone.page.evaluate(
          () => window.bench.status?.sessionEnded === true || window.bench.status?.signedIn === false,
        )
      ) {
        phone.signIns++;
        await signIn(phone.page, shop.codes[phone.role]);
        await until(phone.page, () => window.bench.status.signedIn && !window.bench.status.sessionEnded);
      }
      const there = new Set((await witness.log()).map((l) => l.entry.id));
      return phone.ids.every((id) => there.has(id));
    });
    await sent(phone.page);
  }

  const log = await witness.log();
  const counted = new Map();
  for (const { entry } of log) counted.set(entry.id, (counted.get(entry.id) ?? 0) + 1);
  for (const phone of phones)
    for (const id of phone.ids)
      assert.equal(counted.get(id), 1, `entry ${id} of the ${phone.role} stands ${counted.get(id) ?? 0} times`);
  const lacked = phones.flatMap((p) => p.ids).filter((id) => !before.some((l) => l.entry.id === id));
  assert.equal(
    log.length,
    before.length + lacked.length,
    'the log grew by what the backup lacked, and by nothing else',
  );
  assert.ok(lacked.length >= 8, `the backup lacked ${lacked.length} entries`);
  for (const phone of phones) {
    assert.ok(phone.signIns <= 1);
    await phone.page.evaluate(() => window.bench.core.syncNow());
    await until(phone.page, (n) => window.bench.core.view('office', {}).then((v) => v.entries === n), log.length);
  }
  await Promise.all(phones.map((p) => p.context.close()));
});
