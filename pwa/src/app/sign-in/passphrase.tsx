// A person's own passphrase: chosen at the first sign-in by link, or changed later.

import { useState } from 'preact/hooks';
import type { Me, Problem } from '../../bridge/api';
import { TextField } from '../controls/controls';
import { Card, Page, ProblemBox, Shown } from '../controls/page';
import { words } from '../i18n/i18n';
import { useAnswer } from '../store/answer';
import { boot, problemOf, replace, say, status, useCore } from '../store/store';
import { shouldChoosePin } from '../who/pin';
import { passFaults } from './set-up';

export function Passphrase() {
  const w = words();
  const core = useCore();
  const { of } = useAnswer<Me>(() => core.me());
  return (
    <Page title={w.staff.passTitle} under={boot.value?.person?.name} up={{ at: 'who' }}>
      <Shown of={of}>{(me) => <Ask hasOne={me.has_passphrase && !me.invited} />}</Shown>
    </Page>
  );
}

function Ask({ hasOne }: { hasOne: boolean }) {
  const w = words();
  const core = useCore();
  const [old, setOld] = useState('');
  const [fresh, setFresh] = useState('');
  const [again, setAgain] = useState('');
  const [isTried, setTried] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [isBusy, setBusy] = useState(false);
  const faults = passFaults(fresh, again);
  const fault = (code: string | undefined) => (isTried && code !== undefined ? { code } : null);
  const send = () => {
    setTried(true);
    if (faults.passphrase !== undefined || faults.again !== undefined) return;
    setBusy(true);
    core.setPassphrase(old, fresh).then(
      () => {
        say(w.staff.passSet);
        // On a shared phone the PIN is next: it is what brings one back without a network.
        const person = boot.value?.person;
        replace(person != null && shouldChoosePin(person, status.value?.seats ?? []) ? { at: 'pin' } : { at: 'start' });
      },
      (e: unknown) => {
        setBusy(false);
        setProblem(problemOf(e));
      },
    );
  };
  return (
    <Card>
      <p>{hasOne ? w.staff.passChange : w.staff.passFirst}</p>
      <form
        onSubmit={(e) => {
          e.preventDefault();
          send();
        }}
        noValidate
      >
        {hasOne && (
          <TextField
            label={w.staff.passOld}
            value={old}
            onValue={setOld}
            type="password"
            autoComplete="current-password"
          />
        )}
        <TextField
          label={w.staff.passNew}
          hint={w.setUp.passHint}
          value={fresh}
          onValue={setFresh}
          type="password"
          autoComplete="new-password"
          fault={fault(faults.passphrase)}
        />
        <TextField
          label={w.setUp.again}
          value={again}
          onValue={setAgain}
          type="password"
          autoComplete="new-password"
          fault={fault(faults.again)}
        />
        {problem !== null && <ProblemBox problem={problem} />}
        <button type="submit" class="main" disabled={isBusy}>
          <span>{isBusy ? w.signIn.busy : w.staff.passGo}</span>
        </button>
      </form>
    </Card>
  );
}
