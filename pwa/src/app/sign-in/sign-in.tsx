// Getting in: by link, by name and passphrase, and the first run of a new shop.

import { useEffect, useState } from 'preact/hooks';
import type { Problem, SignInBy } from '../../bridge/api';
import { Choice, Select, TextField } from '../controls/controls';
import { words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { boot, forget, prefs, problemOf, replace, status, useCore } from '../store/store';
import { LanguageSwitch } from '../prefs/prefs';
import { LinkButton, ProblemBox } from '../controls/page';
import { shouldChoosePin } from '../who/pin';
import { Several } from '../who/several';
import { Mark } from './mark';
import { currencies, faultsOf, localZone, zones, type SetUpTyped } from './set-up';

type Phase = { kind: 'idle' } | { kind: 'busy' } | { kind: 'failed'; problem: Problem };

export function SignIn({ code }: { code: string }) {
  const w = words();
  const core = useCore();
  const [name, setName] = useState('');
  const [passphrase, setPassphrase] = useState('');
  const [phase, setPhase] = useState<Phase>({ kind: 'idle' });
  const enter = (by: SignInBy) => {
    setPhase({ kind: 'busy' });
    const before = status.value?.seats ?? []; // whoever gives way is not there afterwards
    core.signIn(by).then(
      async (b) => {
        // An invitation lets one in once; the passphrase for the next time is chosen now.
        const mustChoose =
          'code' in by &&
          (await core.me().then(
            (me) => me.invited,
            () => false,
          ));
        forget();
        boot.value = b;
        replace({
          at: mustChoose
            ? 'passphrase'
            : b.person !== null && shouldChoosePin(b.person, [...before, ...(status.value?.seats ?? [])])
              ? 'pin'
              : 'start',
        });
      },
      (e: unknown) => setPhase({ kind: 'failed', problem: problemOf(e) }),
    );
  };
  const seats = status.value?.seats ?? [];
  const isOffline = status.value?.online === 'no';
  const unsent = status.value?.unsent ?? 0;
  return (
    <Gate title={w.signIn.title}>
      {isOffline && (
        <p class="note-box">
          <Icon name="off" size={24} />
          <span>{w.signIn.offline}</span>
        </p>
      )}
      {unsent > 0 && (
        <p class="note-box">
          <Icon name="phone" size={24} />
          <span>{w.signIn.kept(unsent)}</span>
        </p>
      )}
      {(boot.value?.left.length ?? 0) > 0 && (
        <p class="note-box">
          <Icon name="warn" size={24} />
          <span>
            {w.signIn.moved}{' '}
            {boot.value?.left.map((l) => (
              <a key={l} href={l}>
                {l}
              </a>
            ))}
          </span>
        </p>
      )}
      {phase.kind === 'failed' && <ProblemBox problem={phase.problem} />}
      {code !== '' && (
        <div class="gate-code">
          <p>{w.signIn.byCode}</p>
          <button type="button" class="main" disabled={phase.kind === 'busy'} onClick={() => enter({ code })}>
            <span>{phase.kind === 'busy' ? w.signIn.busy : w.signIn.enter}</span>
          </button>
          <p class="gate-or">{w.signIn.or}</p>
        </div>
      )}
      <form
        onSubmit={(e) => {
          e.preventDefault();
          enter({ name: name.trim(), passphrase });
        }}
      >
        <TextField label={w.signIn.name} value={name} onValue={setName} autoComplete="username" />
        <TextField
          label={w.signIn.passphrase}
          value={passphrase}
          onValue={setPassphrase}
          type="password"
          autoComplete="current-password"
        />
        <button
          type="submit"
          class={code === '' ? 'main' : 'plain'}
          disabled={phase.kind === 'busy' || name.trim() === '' || passphrase === ''}
        >
          <span>{phase.kind === 'busy' ? w.signIn.busy : w.signIn.enter}</span>
        </button>
      </form>
      <p class="hint">{w.signIn.help}</p>
      <Several seats={seats} />
      {seats.length > 0 && (
        <p class="buttons">
          <LinkButton icon="people" to={{ at: 'who' }}>
            {w.staff.backTo}
          </LinkButton>
        </p>
      )}
      <p class="buttons">
        <LinkButton kind="quiet" icon="phone" to={{ at: 'check' }}>
          {w.check.title}
        </LinkButton>
      </p>
      {boot.value?.needsSetUp === true && (
        <p class="note-box">
          <span>{w.signIn.needsSetUp}</span>
        </p>
      )}
    </Gate>
  );
}

export function SetUp({ code }: { code: string }) {
  const w = words();
  const core = useCore();
  const [typed, setTyped] = useState<SetUpTyped>(() => ({
    shop: '',
    zone: localZone(),
    units: prefs.value.units,
    currency: 'EUR',
    lang: prefs.value.lang,
    name: '',
    passphrase: '',
    again: '',
  }));
  const [phase, setPhase] = useState<Phase>({ kind: 'idle' });
  const [isTried, setTried] = useState(false);
  const faults = faultsOf(typed);
  const set = (field: keyof SetUpTyped) => (v: string) => setTyped((t) => ({ ...t, [field]: v }));
  const fault = (field: keyof SetUpTyped) => (isTried && faults[field] !== undefined ? { code: faults[field] } : null);
  useEffect(() => {
    if (typed.lang !== prefs.value.lang) setTyped((t) => ({ ...t, lang: prefs.value.lang }));
  }, [prefs.value.lang]);
  const send = () => {
    setTried(true);
    if (Object.keys(faults).length > 0) return;
    setPhase({ kind: 'busy' });
    core
      .setUp({
        code,
        name: typed.name.trim(),
        passphrase: typed.passphrase,
        shop: {
          name: typed.shop.trim(),
          zone: typed.zone,
          units: typed.units,
          currency: typed.currency,
          lang: typed.lang,
        },
      })
      .then(
        (b) => {
          forget();
          boot.value = b;
          replace({ at: 'first' });
        },
        (e: unknown) => setPhase({ kind: 'failed', problem: problemOf(e) }),
      );
  };
  return (
    <Gate title={w.setUp.title}>
      <p>{w.setUp.lead}</p>
      {status.value?.online === 'no' && (
        <p class="note-box">
          <Icon name="off" size={24} />
          <span>{w.signIn.offline}</span>
        </p>
      )}
      <form
        onSubmit={(e) => {
          e.preventDefault();
          send();
        }}
        noValidate
      >
        <h2 class="part-title">{w.setUp.shop}</h2>
        <TextField label={w.setUp.shopName} value={typed.shop} onValue={set('shop')} fault={fault('shop')} />
        <Select
          label={w.fields['zone'] ?? ''}
          options={zones().map((z) => ({ value: z, label: z.replaceAll('_', ' ') }))}
          value={typed.zone}
          onValue={set('zone')}
          fault={fault('zone')}
        />
        <Choice
          label={w.fields['units'] ?? ''}
          options={Object.entries(w.unitSystems).map(([value, label]) => ({ value, label }))}
          value={typed.units}
          onValue={set('units')}
        />
        <Select
          label={w.fields['currency'] ?? ''}
          options={currencies().map((c) => ({ value: c, label: c }))}
          value={typed.currency}
          onValue={set('currency')}
          fault={fault('currency')}
        />
        <Choice
          label={w.setUp.shopLang}
          options={Object.entries(w.languages).map(([value, label]) => ({ value, label }))}
          value={typed.lang}
          onValue={set('lang')}
        />
        <h2 class="part-title">{w.setUp.you}</h2>
        <TextField
          label={w.signIn.name}
          value={typed.name}
          onValue={set('name')}
          autoComplete="username"
          fault={fault('name')}
        />
        <TextField
          label={w.signIn.passphrase}
          hint={w.setUp.passHint}
          value={typed.passphrase}
          onValue={set('passphrase')}
          type="password"
          autoComplete="new-password"
          fault={fault('passphrase')}
        />
        <TextField
          label={w.setUp.again}
          value={typed.again}
          onValue={set('again')}
          type="password"
          autoComplete="new-password"
          fault={fault('again')}
        />
        {phase.kind === 'failed' && <ProblemBox problem={phase.problem} />}
        <button type="submit" class="main" disabled={phase.kind === 'busy'}>
          <span>{phase.kind === 'busy' ? w.signIn.busy : w.setUp.go}</span>
        </button>
      </form>
    </Gate>
  );
}

function Gate({ title, children }: { title: string; children: preact.ComponentChildren }) {
  return (
    <main class="gate" id="main">
      <Mark />
      <h1>{title}</h1>
      {children}
      <LanguageSwitch />
    </main>
  );
}
