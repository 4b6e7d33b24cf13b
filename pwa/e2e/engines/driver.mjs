// What a person does on a page, for browsers that only take scripts: see, tap, type,
// by the words on the screen.
import { patienceMs } from '../lib.mjs';

// These run in the page. A control is found by the words that a reader would hear.
const inPage = `
const visible = (e) => e.getClientRects().length > 0 && getComputedStyle(e).visibility !== 'hidden';
const heard = (e) => (e.getAttribute('aria-label') ?? (e.id !== '' && document.querySelector('label[for="' + CSS.escape(e.id) + '"]')?.innerText) ?? '') || e.closest('label')?.innerText || e.innerText || e.value || '';
const named = (e) => heard(e).replace(/\\s+/g, ' ').trim();
const all = (css) => [...document.querySelectorAll(css)].filter(visible);
`;

// session puts the steps on top of goto and js.
export function session({ goto, js, shot }) {
  const run = async (body, ...args) => {
    const [value, error] = await js(
      `const done = arguments[arguments.length - 1], args = [...arguments].slice(0, -1);${inPage}
      (async () => { ${body} })().then((v) => done([v ?? null, null]), (e) => done([null, String(e)]));`,
      args,
    );
    if (error !== null) throw new Error(error);
    return value;
  };
  const until = async (what, body, ...args) => {
    let last = null;
    for (const end = Date.now() + patienceMs; Date.now() < end; await new Promise((ok) => setTimeout(ok, 100))) {
      const value = await run(body, ...args).catch((e) => {
        last = e;
        return null;
      });
      if (value) return value;
    }
    throw new Error(
      `${what}: not within ${patienceMs / 1000} s (${last ?? ''}); the page says ${JSON.stringify(await run('return document.body.innerText.slice(0, 800)').catch(String))}`,
    );
  };
  // reload is the page's own: Firefox's remote command passes the service worker over,
  // as a person's reload with the shift key does.
  const reload = async () => {
    await run('window.isBefore = true; setTimeout(() => location.reload(), 0);');
    await until(
      'the page after a reload',
      "return window.isBefore === undefined && document.readyState === 'complete'",
    );
  };
  return {
    goto,
    reload,
    shot,
    run,
    until,
    see: (words) => until(`see ${words}`, 'return document.body.innerText.includes(args[0])', words),
    tap: (words) =>
      until(
        `tap ${words}`,
        `const e = all('button, a').find((e) => named(e) === args[0]); if (!e || e.disabled) return null; e.scrollIntoView({ block: 'center' }); e.click(); return true`,
        words,
      ),
    type: (label, text) =>
      until(
        `type into ${label}`,
        `
      const e = all('input').find((e) => named(e).startsWith(args[0])); if (!e) return null;
      e.focus(); Object.getOwnPropertyDescriptor(e.constructor.prototype, 'value').set.call(e, args[1]);
      e.dispatchEvent(new Event('input', { bubbles: true })); e.dispatchEvent(new Event('change', { bubbles: true })); return true`,
        label,
        text,
      ),
  };
}
