// Powder by lot and by passes through the gun, with its share: of a vessel, on the parts
// of a run, on those of a job.

import type { ComponentChildren } from 'preact';
import type { LotShareView } from '../../bridge/api';
import { percent, words } from '../i18n/i18n';

type Row = Pick<LotShareView, 'lot' | 'passes' | 'mass' | 'share_pm'>;

interface LotTableProps<T extends Row> {
  rows: readonly T[];
  name: (row: T) => ComponentChildren;
  children?: ComponentChildren; // more rows
}

export function LotTable<T extends Row>({ rows, name, children }: LotTableProps<T>) {
  const w = words();
  return (
    <table class="table">
      <thead>
        <tr>
          <th scope="col">{w.vessel.lot}</th>
          <th scope="col">{w.vessel.passesHead}</th>
          <th scope="col" class="num">
            {w.mass}
          </th>
          <th scope="col" class="num">
            {w.share}
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map((l) => (
          <tr key={`${l.lot}-${l.passes}`}>
            <td>{name(l)}</td>
            <td>{w.passes(l.passes)}</td>
            <td class="num">{l.mass.text}</td>
            <td class="num">{percent(l.share_pm)}</td>
          </tr>
        ))}
        {children}
      </tbody>
    </table>
  );
}
