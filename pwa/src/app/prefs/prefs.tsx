// How this phone speaks and looks, as its people wish.

import type { Prefs } from '../../bridge/api';
import { Choice } from '../controls/controls';
import { advise, words } from '../i18n/i18n';
import { boot, prefs, problemOf, say, useCore } from '../store/store';

// useSetPrefs shows a wish at once and keeps it on the phone.
export function useSetPrefs(): (p: Partial<Prefs>) => void {
  const core = useCore();
  return (p) => {
    const b = boot.value;
    if (b !== null) boot.value = { ...b, prefs: { ...b.prefs, ...p } };
    core.setPrefs(p).catch((e: unknown) => say(advise(problemOf(e).code).says, 'bad'));
  };
}

const languages = [
  { value: 'en', label: 'English' },
  { value: 'es', label: 'Español' },
];

export function LanguageSwitch() {
  const set = useSetPrefs();
  const choose = (lang: string) => set({ lang: lang === 'es' ? 'es' : 'en' });
  return <Choice label={words().language} options={languages} value={prefs.value.lang} onValue={choose} />;
}
