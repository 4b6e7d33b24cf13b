// Cautions where the work is, short, and a page of the full text.

import { Card, Page } from '../controls/page';
import { words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { href } from '../route/route';

export function Cautions({ of }: { of: 'change' | 'clean' }) {
  const w = words();
  return (
    <a class="cautions" href={href({ at: 'safety' })}>
      <Icon name="shield" size={28} />
      <span>
        {(of === 'clean' ? w.cautions.clean : w.cautions.change).map((line) => (
          <span key={line}>{line}</span>
        ))}
      </span>
    </a>
  );
}

export function Safety() {
  const w = words();
  return (
    <Page title={w.cautions.title} up={{ at: 'booth', booth: '' }}>
      <p class="lead">{w.cautions.lead}</p>
      {w.cautions.full.map(([head, text]) => (
        <Card key={head} title={head}>
          <p>{text}</p>
        </Card>
      ))}
      <p class="note-box">
        <Icon name="shield" size={24} />
        <span>{w.cautions.last}</span>
      </p>
    </Page>
  );
}
