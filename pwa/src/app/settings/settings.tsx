// What the shop is made of: powders, places, booths, and the shop itself.

import { Card, Empty, LinkButton, Page, ProblemBox, Shown } from '../controls/page';
import { Swatch } from '../colour/swatch';
import { word, words } from '../i18n/i18n';
import { href } from '../route/route';
import { boot, role, useView } from '../store/store';
import { PlainTask } from '../task/plain-task';
import type { Form } from '../task/task';

export function Settings() {
  const w = words();
  const view = useView('lists', {});
  const isManager = role.value === 'manager';
  const may = isManager || role.value === 'clerk';
  return (
    <Page title={w.settings.title} under={boot.value?.shop?.name} up={{ at: 'office' }}>
      {isManager && (
        <p class="buttons">
          <LinkButton icon="ok" to={{ at: 'first' }}>
            {w.staff.firstTitle}
          </LinkButton>
        </p>
      )}
      {!isManager && (
        <p class="note-box">
          <span>{w.settings.managerOnly}</span>
        </p>
      )}
      <Shown of={view}>
        {(l) => (
          <div class="settings-grid">
            <Card title={w.settings.powders}>
              {l.powders.length === 0 && <Empty>{w.settings.none}</Empty>}
              <ul class="plain-list">
                {l.powders.map((p) => (
                  <li key={p.id}>
                    <a
                      class="row"
                      href={href(
                        isManager
                          ? { at: 'do', task: 'set.powder', with: { powder: p.id } }
                          : { at: 'powder', id: p.id },
                      )}
                    >
                      <Swatch powder={p} size={28} />
                      <span class="row-words">
                        <b>{p.name}</b>
                        <small>{p.code}</small>
                      </span>
                    </a>
                  </li>
                ))}
              </ul>
              {isManager && (
                <LinkButton icon="plus" to={{ at: 'do', task: 'set.powder', with: {} }}>
                  {w.settings.addPowder}
                </LinkButton>
              )}
            </Card>
            <Card title={w.settings.places}>
              {l.places.length === 0 && <Empty>{w.settings.none}</Empty>}
              <ul class="plain-list">
                {l.places.map((p) => (
                  <li key={p.place}>
                    <a
                      class="row"
                      href={href(
                        may ? { at: 'do', task: 'set.place', with: { place: p.place } } : { at: 'place', id: p.place },
                      )}
                    >
                      <span class="row-words">
                        <b>{p.name}</b>
                        <small>{word(w.placeKinds, p.kind)}</small>
                      </span>
                    </a>
                  </li>
                ))}
              </ul>
              {may && (
                <LinkButton icon="plus" to={{ at: 'do', task: 'set.place', with: {} }}>
                  {w.settings.addPlace}
                </LinkButton>
              )}
            </Card>
            <Card title={w.settings.booths}>
              {l.booths.length === 0 && <Empty>{w.settings.none}</Empty>}
              <ul class="plain-list">
                {l.booths.map((b) => (
                  <li key={b.id}>
                    <a
                      class="row"
                      href={href(
                        isManager
                          ? { at: 'do', task: 'set.booth', with: { booth: b.id } }
                          : { at: 'booth', booth: b.id },
                      )}
                    >
                      <span class="row-words">
                        <b>{b.name}</b>
                      </span>
                    </a>
                  </li>
                ))}
              </ul>
              {isManager && (
                <LinkButton icon="plus" to={{ at: 'do', task: 'set.booth', with: {} }}>
                  {w.settings.addBooth}
                </LinkButton>
              )}
            </Card>
            {isManager && (
              <Card title={w.settings.shop}>
                <LinkButton icon="set" to={{ at: 'do', task: 'set.shop', with: {} }}>
                  {w.edit}
                </LinkButton>
              </Card>
            )}
          </div>
        )}
      </Shown>
    </Page>
  );
}

// SetTask opens a set-up form filled with what stands in the books now.
export function SetTask({ task, start }: { task: string; start: Form }) {
  switch (task) {
    case 'set.powder':
      return start['powder'] === undefined ? (
        <PlainTask task={task} start={start} fills={newPowder} />
      ) : (
        <FromForms task={task} start={start} view="powders" field="powder" />
      );
    case 'set.booth':
      return start['booth'] === undefined ? (
        <PlainTask task={task} start={start} />
      ) : (
        <FromForms task={task} start={start} view="booths" field="booth" />
      );
    case 'set.setup':
      return start['setup'] === undefined ? (
        <PlainTask task={task} start={start} />
      ) : (
        <FromForms task={task} start={start} view="setups" field="setup" />
      );
    case 'set.place':
      return <FromLists task={task} start={start} />;
    case 'set.person':
      return <FromLists task={task} start={start} />;
    case 'set.shop':
      return <FromShop start={start} />;
    default:
      return <PlainTask task={task} start={start} />;
  }
}

const newPowder: Form = { chemistry: 'polyester', finish: 'gloss' };

function FromForms({
  task,
  start,
  view,
  field,
}: {
  task: string;
  start: Form;
  view: 'powders' | 'booths' | 'setups';
  field: string;
}) {
  const forms = useView(view, {});
  return (
    <Shown of={forms}>
      {(list) => {
        const fills = list.find((f) => f[field] === start[field]);
        return fills === undefined ? <Gone /> : <PlainTask task={task} start={start} fills={fills} />;
      }}
    </Shown>
  );
}

// Gone says that there is nothing to change: a form that opened empty would be taken for it.
function Gone() {
  return (
    <Page title={words().settings.title} up={{ at: 'settings' }}>
      <ProblemBox problem={{ code: 'thing.unknown', title: '' }} />
    </Page>
  );
}

function FromLists({ task, start }: { task: string; start: Form }) {
  const view = useView('lists', {});
  return (
    <Shown of={view}>
      {(l) => {
        const place = l.places.find((p) => p.place === start['place']),
          person = l.people.find((p) => p.person === start['person']);
        if (
          (start['place'] !== undefined && place === undefined) ||
          (start['person'] !== undefined && person === undefined)
        )
          return <Gone />;
        const fills: Form =
          place !== undefined
            ? {
                name: place.name,
                kind: place.kind,
                ...(place.booth === undefined ? {} : { booth: place.booth }),
                ...(place.tare === undefined ? {} : { tare: place.tare.text }),
                ...(place.capacity === undefined ? {} : { capacity: place.capacity.text }),
              }
            : person !== undefined
              ? { name: person.name, role: person.role, ...(person.gone === true ? { gone: 'yes' } : {}) }
              : task === 'set.place'
                ? { kind: 'vessel' }
                : { role: 'coater' };
        return <PlainTask task={task} start={start} fills={fills} />;
      }}
    </Shown>
  );
}

function FromShop({ start }: { start: Form }) {
  const view = useView('shop', {});
  return (
    <Shown of={view}>
      {(s) => (
        <PlainTask
          task="set.shop"
          start={start}
          fills={{ name: s.name, zone: s.zone, units: s.units, currency: s.currency, lang: s.lang }}
        />
      )}
    </Shown>
  );
}
