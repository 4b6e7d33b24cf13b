// Walking through the app as a person does who types addresses and follows links: what
// the walks share.
import { openSignedIn } from './lib.mjs';

export const roles = ['coater', 'clerk', 'manager'];

// openPerson signs somebody in on a phone of their own by a code. It notes what the page
// itself complains of.
export async function openPerson(browser, url, role, code, how = {}) {
  const { phone, page } = await openSignedIn(browser, url, code, how);
  const faults = [];
  page.on('pageerror', (e) => faults.push(String(e)));
  return { role, phone, page, faults };
}

// speak has the phone use a language and units, by the choices of its own screen.
export async function speak(page, lang, units) {
  await visit(page, '#/status');
  const choose = async (value) => page.locator('.option', { hasText: value }).first().click();
  await choose(lang === 'es' ? 'Español' : 'English');
  await page.waitForFunction((l) => document.documentElement.lang === l, lang);
  if (units !== undefined) await choose(units === 'us' ? 'lb, mil, ft²' : 'kg, µm, m²');
}

// visit goes to an address and waits until the screen has finished: it has a heading,
// reads nothing any more and has stood still for a moment. It gives what stands there.
export function visit(page, to, ms = 60_000) {
  return page.evaluate(
    async ([hash, limit]) => {
      const main = () => document.querySelector('main');
      const isDone = () =>
        main()?.querySelector('h1')?.textContent.trim() &&
        document.querySelector('.waiting, [aria-busy="true"]') === null;
      let moved = performance.now();
      const watch = new MutationObserver(() => {
        moved = performance.now();
      });
      watch.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
      if (location.hash !== hash) {
        const gone = new Promise((ok) => {
          window.addEventListener('hashchange', ok, { once: true });
        });
        location.hash = hash;
        await gone; // what stands there until then is the screen before
        moved = performance.now();
      }
      const end = performance.now() + limit;
      while (!(isDone() && performance.now() - moved > 30) && performance.now() < end)
        await new Promise((ok) => {
          setTimeout(ok, 10);
        });
      watch.disconnect();
      if (!isDone()) return { isDone: false, text: document.body.innerText, typed: [], links: [], problems: [] };
      // What a person reads or has read out to them.
      const said = [...document.querySelectorAll('[aria-label], [placeholder], [title], [alt]')].flatMap((e) =>
        ['aria-label', 'placeholder', 'title', 'alt'].map((a) => e.getAttribute(a) ?? ''),
      );
      const inside = [...document.querySelectorAll('option, .seen-by-readers, svg text, svg title')].map(
        (e) => e.textContent,
      );
      const typed = [
        ...document.querySelectorAll('input:not([type=checkbox], [type=radio], [type=date]), textarea'),
      ].map((e) => e.value);
      return {
        isDone: true,
        text: [document.title, document.body.innerText, ...said, ...inside].join('\n'),
        typed,
        links: [...document.querySelectorAll('a[href]')].map((a) => a.getAttribute('href')),
        problems: [...document.querySelectorAll('.problem')].map((p) => p.innerText),
      };
    },
    [to, ms],
  );
}

const alike = 3; // of forms that differ only in what they are about so many are opened

// crawl follows every link from the start, each address once, and hands each screen over.
// It gives all addresses.
export async function crawl(page, each) {
  const seen = new Set(['#/']),
    queue = ['#/'],
    forms = new Map();
  for (let to = queue.shift(); to !== undefined; to = queue.shift()) {
    const screen = await visit(page, to);
    await each(to, screen);
    for (const link of screen.links) {
      if (!link.startsWith('#/') || seen.has(link)) continue;
      seen.add(link);
      const form = link.startsWith('#/do/') ? link.replace(/=[^&]*/g, '') : link,
        n = forms.get(form) ?? 0;
      forms.set(form, n + 1);
      if (n < alike) queue.push(link);
    }
  }
  return [...seen];
}
