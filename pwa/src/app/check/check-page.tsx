// Check this phone: can it do a shift without a network?

import { useEffect, useState } from 'preact/hooks';
import { Card, Page } from '../controls/page';
import { words } from '../i18n/i18n';
import { Icon, type IconName } from '../icon/icon';
import { grade, probes, whole, type Facts, type Grade, type Probe } from './check';
import { askToPersist, probe, startTrial } from './probes';

const icons: Readonly<Record<Grade, IconName>> = { good: 'ok', fair: 'note', bad: 'warn', todo: 'phone' };

export function CheckPage() {
  const w = words();
  const [facts, setFacts] = useState<Facts | null>(null);
  const look = () => {
    setFacts(null);
    void probe().then(setFacts);
  };
  useEffect(look, []);
  return (
    <Page title={w.check.title} under={w.check.under} up={{ at: 'status' }}>
      {facts === null ? (
        <p class="waiting" role="status">
          {w.check.looking}
        </p>
      ) : (
        <>
          <p class={`check-whole is-${whole(facts)}`} role="status">
            <Icon name={icons[whole(facts)]} />
            <b>{w.check.whole[whole(facts)]}</b>
          </p>
          <Card>
            <ul class="checks" aria-label={w.check.title}>
              {probes.map((p) => (
                <Row
                  key={p}
                  probe={p}
                  facts={facts}
                  onPersist={() => void askToPersist().then((persist) => setFacts({ ...facts, persist }))}
                />
              ))}
            </ul>
          </Card>
          <div class="buttons">
            <button type="button" class="plain" onClick={look}>
              <span>{w.check.again}</span>
            </button>
          </div>
          <p class="hint">{w.check.hint}</p>
        </>
      )}
    </Page>
  );
}

function Row({ probe: p, facts, onPersist }: { probe: Probe; facts: Facts; onPersist: () => void }) {
  const w = words();
  const g = grade(p, facts),
    found = facts[p];
  const text = w.check.found[`${p}.${typeof found === 'boolean' ? (found ? 'yes' : 'no') : found}`] ?? '';
  return (
    <li class={`check is-${g}`}>
      <Icon name={icons[g]} />
      <div>
        <b>{w.check.names[p]}</b> <em>{w.check.grades[g]}</em>
        <p>{text}</p>
        {p === 'persist' && facts.persist === 'refused' && (
          <button type="button" class="plain" onClick={onPersist}>
            <span>{w.check.ask}</span>
          </button>
        )}
        {p === 'airplane' && g !== 'good' && (
          <button type="button" class="main" onClick={startTrial}>
            <span>{w.check.reload}</span>
          </button>
        )}
      </div>
    </li>
  );
}
