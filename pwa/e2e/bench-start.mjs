// `make bench-start`: cold start of the installed app without a network, and a record
// until it is durable, on the built binary. Three speeds:
//   as it is · page's thread slowed 4 times by the browser (workers are not reached,
//   so their share is counted four times) · the whole browser held to a quarter of
//   one core by a CPU quota (needs root and cgroup v1; said so where there is none).
import {
  buildBench,
  enter,
  openBrowser,
  openDoor,
  openInstalled,
  openPhone,
  openShop,
  quartered,
  signIn,
} from './lib.mjs';

const rounds = 9;
const median = (of) => of.toSorted((a, b) => a - b)[of.length >> 1];
const shop = await openShop();

async function installed() {
  const phone = await openInstalled();
  const page = await phone.newPage();
  await page.goto(`${shop.url}/#in=${shop.codes.coater}`);
  await page
    .getByRole('button', { name: /^sign in/i })
    .first()
    .click();
  await page.getByRole('navigation').first().waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true));
  await page.getByText('kg').first().waitFor();
  await page.waitForTimeout(2500); // the folded state is kept half a second after the last change
  await phone.setOffline(true);
  await page.close();
  return phone;
}

// cold gives ms from navigation until the words are on the screen.
async function cold(phone, hash, words, slow) {
  const page = await phone.newPage();
  const cdp = await phone.newCDPSession(page);
  if (slow > 1) await cdp.send('Emulation.setCPUThrottlingRate', { rate: slow });
  await page.goto(`${shop.url}/${hash}`);
  const ms = await page.waitForFunction(
    (w) => (document.body.innerText.includes(w) ? performance.now() : false),
    words,
    { polling: 'raf', timeout: 60_000 },
  );
  const out = await ms.jsonValue();
  await page.close();
  return out;
}

async function starts(name, slow = 1) {
  const phone = await installed();
  const books = [],
    core = [];
  await cold(phone, '#/do/charge?to=hopper-1', 'Best blend', 1); // the first start after installing compiles
  for (let i = 0; i < rounds; i++) books.push(await cold(phone, '#/booth', 'Charge hopper', slow));
  for (let i = 0; i < rounds; i++) core.push(await cold(phone, '#/do/charge?to=hopper-1', 'Best blend', slow));
  console.log(
    `${name}: books and actions on the screen ${Math.round(median(books))} ms, first answer of the core (best blend) ${Math.round(median(core))} ms, medians of ${rounds}`,
  );
  await phone.close();
}

// saves times core.record, which resolves when the entry is on strict storage.
async function saves(browser) {
  const door = await openDoor(shop, buildBench('bench'));
  const phone = await openPhone(browser);
  const page = await enter(phone, door);
  await signIn(page, shop.codes.coater);
  door.set('down');
  const times = await page.evaluate(async () => {
    const out = [];
    for (let i = 0; i < 60; i++) {
      const t = performance.now();
      await window.bench.core.record('weigh', { place: 'hopper-1', mass: `${8900 - i} g` }, '');
      out.push(performance.now() - t);
    }
    return out;
  });
  console.log(`a record until it is durable on the phone: ${median(times).toFixed(1)} ms, median of ${times.length}`);
  await phone.close();
  await door.close();
}

try {
  const browser = await openBrowser();
  await starts('as it is');
  await starts('page 4× slower, worker as it is', 4);
  await saves(browser);
  await browser.close();
  await quartered(() => starts('whole browser on a quarter of one core'));
} finally {
  await shop.close();
}
