// What stands here instead of the app at an address without HTTPS. A browser gives such a
// page no worker without a network and no cryptography.

import { useEffect } from 'preact/hooks';
import { words } from '../i18n/i18n';
import { Mark } from '../sign-in/mark';
import { prefs } from '../store/store';

export function PlainHTTP() {
  const w = words().plainHttp,
    lang = prefs.value.lang;
  useEffect(() => {
    document.documentElement.lang = lang;
  }, [lang]);
  return (
    <main class="page gate" id="main">
      <Mark />
      <h1>{w.title}</h1>
      <p>{w.why}</p>
      <p>{w.ways}</p>
      <dl class="ways">
        {w.how.map(([command, text]) => (
          <div key={command}>
            <dt>
              <code>hoppertally {command}</code>
            </dt>
            <dd>{text}</dd>
          </div>
        ))}
      </dl>
      <p>
        {w.here} <code>http://localhost{location.port === '' ? '' : `:${location.port}`}</code>
      </p>
    </main>
  );
}
