// What a person should look at: in words, with what to do next, and the entries behind it.

import type { AttentionView } from '../../bridge/api';
import { Empty, Page, Shown } from '../controls/page';
import { advise, adviseAll, dateWords, moment, word, words } from '../i18n/i18n';
import { kindOf } from '../entry/entry-row';
import { Icon } from '../icon/icon';
import { href } from '../route/route';
import { useView } from '../store/store';

export function Attention() {
  const w = words();
  const view = useView('attention', {});
  return (
    <Page title={w.attention} up={{ at: 'office' }}>
      <Shown of={view}>
        {(list) => (list.length === 0 ? <Empty>{w.allWell}</Empty> : <AttentionRows list={list} />)}
      </Shown>
    </Page>
  );
}

export function AttentionRows({ list, max }: { list: readonly AttentionView[]; max?: number }) {
  const w = words();
  const shown = max === undefined ? list : list.slice(0, max);
  return (
    <ul class="attention-list">
      {shown.map((x, i) => {
        const a = advise(x.code);
        const about = [
          x.mass?.text,
          x.place?.name,
          x.booth?.name,
          x.lot === undefined ? undefined : `${w.vessel.lot} ${x.lot.name}`,
          x.powder?.name,
          detailWords(x),
        ].filter((s) => s !== undefined && s !== '');
        return (
          <li key={`${x.entry}-${x.code}-${i}`}>
            <a class="attention-row" href={href({ at: 'entry', id: x.entry })}>
              <Icon name="warn" />
              <span>
                <b>{a.says}</b>
                {about.length > 0 && <em>{about.join(' · ')}</em>}
                {max === undefined && <span>{a.next}</span>}
                <small>
                  {kindOf(x.kind)} · {x.by.name} · {moment(x.at_ms)}
                </small>
              </span>
              <Icon name="go" size={20} />
            </a>
          </li>
        );
      })}
      {max !== undefined && list.length > max && (
        <li>
          <a class="row" href={href({ at: 'attention' })}>
            <span class="row-words">{w.andMore(list.length - max)}</span>
            <Icon name="go" size={20} />
          </a>
        </li>
      )}
    </ul>
  );
}

// The detail may itself be a code with words, as the reason an entry is held.
function detailWords(x: AttentionView): string | undefined {
  if (x.detail === undefined || x.detail === '') return undefined;
  if (x.code === 'held' || x.code === 'refused' || x.code === 'newer_version')
    return adviseAll(x.detail)
      .map((a) => a.says)
      .join(', ');
  return detailText(x.detail);
}

// detailText says the detail of an issue or a warning: a cleaning level, a day, or words.
export function detailText(detail: string): string {
  return word(
    words().levels,
    detail.replace(/\b\d{4}-\d\d-\d\d\b/g, (iso) => dateWords(iso)),
  );
}
