// A button that asks once more, in place, before it does what cannot be taken back
// by another tap.

import { useState } from 'preact/hooks';
import { words } from '../i18n/i18n';
import { Icon, type IconName } from '../icon/icon';

export function Confirmed({
  label,
  ask,
  go,
  onGo,
  icon,
}: {
  label: string;
  ask: string;
  go: string;
  onGo: () => void;
  icon: IconName;
}) {
  const w = words();
  const [isAsking, setAsking] = useState(false);
  if (!isAsking)
    return (
      <div class="buttons">
        <button type="button" class="plain" onClick={() => setAsking(true)}>
          <Icon name={icon} />
          <span>{label}</span>
        </button>
      </div>
    );
  return (
    <div class="confirm" role="alert">
      <p>{ask}</p>
      <div class="buttons">
        <button type="button" class="plain" onClick={() => setAsking(false)}>
          <span>{w.goBack}</span>
        </button>
        <button
          type="button"
          class="main"
          onClick={() => {
            setAsking(false);
            onGo();
          }}
        >
          <span>{go}</span>
        </button>
      </div>
    </div>
  );
}
