// Every link from every screen, followed by each person in both languages: each leads to
// a screen that finishes, and says all it says in words: no codes of the program, no ids.
// The list of links is found on the way, so that a new screen is covered by itself.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, openShop } from './lib.mjs';
import { makeTrouble } from './trouble.mjs';
import { crawl, openPerson, roles, speak, visit } from './walk.mjs';

let shop, browser, people;
before(async () => {
  shop = await openShop();
  browser = await openBrowser();
  const code = await makeTrouble(shop);
  people = await Promise.all(roles.map(async (role) => openPerson(browser, shop.url, role, await code(role))));
});
after(async () => {
  await browser?.close();
  await shop?.close();
});

// A code is words joined by points or low lines; an id of a thing has a figure or a
// hyphen in it. A thing that nobody set up has no name but its id: here those ids are
// words.
const codes = /\b[a-z][a-z0-9]*(?:_[a-z0-9]+)+\b|\b[a-z][a-z0-9]*\.[a-z][a-z0-9_.]*\b/g;
const uuid = /\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-/;

// idsIn are the ids of things that an address names.
function idsIn(link) {
  const [path, query = ''] = link.slice(2).split('?');
  const steps = path.split('/').map(decodeURIComponent);
  const named = ['trace', 'entries'].includes(steps[0])
    ? steps[1] === 'job'
      ? []
      : steps.slice(2)
    : ['sums', 'do'].includes(steps[0])
      ? []
      : steps.slice(1);
  const asked = query
    .split('&')
    .map((kv) => kv.split('=').map(decodeURIComponent))
    .filter(([k]) => ['booth', 'run', 'place', 'lot', 'powder', 'entry', 'person', 'setup', 'from', 'to'].includes(k))
    .map(([, v]) => v);
  return [...named, ...asked].filter((id) => /[-0-9]/.test(id));
}

for (const lang of ['en', 'es']) {
  test(`every link leads to a screen that finishes, in words: ${lang}`, async () => {
    const walks = await Promise.all(
      people.map(async ({ role, page, faults }) => {
        await speak(page, lang);
        const wrong = [],
          texts = [],
          ids = new Set();
        const all = await crawl(page, (to, screen) => {
          const say = (what) => wrong.push(`${to}: ${what}`);
          if (!screen.isDone) return say(`does not finish: ${screen.text.slice(0, 300)}`);
          for (const problem of screen.problems) say(`a problem: ${problem}`);
          for (const link of screen.links) if (!/^#(\/|main$)/.test(link)) say(`leads out of the app: ${link}`);
          for (const link of screen.links) for (const id of idsIn(link)) ids.add(id);
          const text = `${screen.text}\n${screen.typed.join('\n')}`;
          for (const [code] of text.matchAll(codes)) say(`the code ${code}`);
          if (uuid.test(text)) say(`an id: ${text.split('\n').find((l) => uuid.test(l))}`);
          texts.push([to, text]);
        });
        for (const [to, text] of texts) {
          for (const id of ids)
            if (text.includes(id) && new RegExp(`(?<![\\w-])${id}(?![\\w-])`).test(text))
              wrong.push(`${to}: the id ${id}`);
        }
        return { role, wrong: [...wrong, ...faults], n: all.length };
      }),
    );
    for (const { role, wrong } of walks) assert.deepEqual(wrong, [], `as the ${role}`);
    for (const { role, n } of walks) assert.ok(n > 300, `only ${n} screens as the ${role}`);
  });
}

test('what is not there says so', async () => {
  const { page } = people[0];
  await speak(page, 'en');
  for (const [to, says] of [
    ['#/sums/gun.nothing', 'This calculation is not known'],
    ['#/do/nothing', 'This task is not known'],
    ['#/do/set.setup?setup=none', 'There is no such thing in the books'],
    ['#/run/none', 'There is no such thing in the books'],
  ]) {
    const screen = await visit(page, to);
    assert.ok(screen.isDone, to);
    assert.match(screen.problems.join(' '), new RegExp(says), to);
    assert.doesNotMatch(screen.text, codes, to);
  }
});
