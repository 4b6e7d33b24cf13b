// The holder chooses a PIN for this phone, or another one.

import { useState } from 'preact/hooks';
import type { Problem } from '../../bridge/api';
import { Card, Page, ProblemBox } from '../controls/page';
import { words } from '../i18n/i18n';
import { problemOf, replace, say, status, useCore } from '../store/store';
import { PinPad } from './pin-pad';

type Step = { at: 'new' } | { at: 'again'; pin: string } | { at: 'old'; pin: string };

export function MyPin() {
  const w = words();
  const core = useCore();
  const [step, setStep] = useState<Step>({ at: 'new' });
  const [problem, setProblem] = useState<Problem | null>(null);
  const [serial, setSerial] = useState(0);
  const [isBusy, setBusy] = useState(false);
  const holder = status.value?.seats.find((s) => s.isHere);
  const next = (s: Step, p: Problem | null = null) => {
    setStep(s);
    setProblem(p);
    setSerial((n) => n + 1);
  };
  const set = (pin: string, old: string) => {
    setBusy(true);
    core.setPin(pin, old).then(
      () => {
        say(w.staff.pinSet);
        replace({ at: 'start' });
      },
      (e: unknown) => {
        setBusy(false);
        const fault = problemOf(e);
        // An old PIN is there: it is asked for once, and then a wrong one is said to be wrong.
        next({ at: 'old', pin }, fault.code === 'pin_wrong' && old === '' ? null : fault);
      },
    );
  };
  const done = (digits: string) => {
    switch (step.at) {
      case 'new':
        next({ at: 'again', pin: digits });
        return;
      case 'again':
        if (digits === step.pin) set(digits, '');
        else next({ at: 'new' }, { code: 'pin_differs', title: '' });
        return;
      case 'old':
        set(step.pin, digits);
        return;
    }
  };
  if (holder?.role === 'manager')
    return (
      <Page title={w.staff.pinTitle} under={holder.name} up={{ at: 'who' }}>
        <p class="note-box">
          <span>{w.staff.noManagersPin}</span>
        </p>
      </Page>
    );
  return (
    <Page title={w.staff.pinTitle} under={holder?.name} up={{ at: 'who' }}>
      <p class="note-box">
        <span>{w.staff.pinWhat}</span>
      </p>
      <Card>
        {problem !== null && <ProblemBox problem={problem} />}
        <PinPad
          label={step.at === 'new' ? w.staff.pinNew : step.at === 'again' ? w.staff.pinAgain : w.staff.pinOld}
          length={step.at === 'again' ? step.pin.length : null}
          serial={serial}
          isBusy={isBusy}
          onDone={done}
        />
      </Card>
    </Page>
  );
}
