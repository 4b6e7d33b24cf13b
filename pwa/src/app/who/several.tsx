// What the PIN protects and what not, and what signing in on this phone is for a manager.

import type { SeatView } from '../../bridge/api';
import { Card } from '../controls/page';
import { words } from '../i18n/i18n';

// Several: where somebody else is on the phone, it is for the moment; and a manager who has
// it alone is signed out by the second person. The rule stands in server/auth/moment.go.
export function Several({ seats }: { seats: readonly SeatView[] }) {
  const w = words();
  const [first] = seats;
  if (first === undefined) return null;
  const isManagersOwn = seats.length === 1 && first.role === 'manager' && !first.isMoment;
  return <p class="hint">{isManagersOwn ? w.staff.givesWay(first.name) : w.staff.several}</p>;
}

export function Protects({ seats }: { seats: readonly SeatView[] }) {
  const w = words();
  return (
    <Card title={w.staff.protects}>
      <p>{w.staff.whoHint}</p>
      <Several seats={seats} />
    </Card>
  );
}
