// Books against weighed: what the difference will mean.

import type { WeighDiff } from '../../../bridge/api';
import { words } from '../../i18n/i18n';

export function Diff({ diff }: { diff: WeighDiff }) {
  const w = words();
  return (
    <section class="diff" aria-label={w.diff.title}>
      <dl>
        <div>
          <dt>{w.diff.books}</dt>
          <dd>{diff.books.text}</dd>
        </div>
        <div>
          <dt>{w.diff.weighed}</dt>
          <dd>{diff.weighed.text}</dd>
        </div>
        <div class="diff-main">
          <dt>{w.diff.difference}</dt>
          <dd>
            {diff.meaning === 'same' ? '' : diff.meaning === 'found' ? '+' : '−'}
            {diff.diff.text}
          </dd>
        </div>
      </dl>
      <p>{w.diff.meanings[diff.meaning] ?? diff.meaning}</p>
    </section>
  );
}
