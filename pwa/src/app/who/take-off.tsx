// People who use this phone no more, taken off it by a manager who holds it.

import { useState } from 'preact/hooks';
import type { Problem, SeatView } from '../../bridge/api';
import { Confirmed } from '../controls/confirmed';
import { Card, ProblemBox } from '../controls/page';
import { words } from '../i18n/i18n';
import { problemOf, say, useCore } from '../store/store';

export function TakeOff({ seats }: { seats: readonly SeatView[] }) {
  const w = words();
  const core = useCore();
  const [problem, setProblem] = useState<Problem | null>(null);
  if (seats.length === 0) return null;
  const go = (s: SeatView) => {
    core.takeOff(s.id).then(
      () => {
        setProblem(null);
        say(w.staff.tookOff(s.name));
      },
      (e: unknown) => setProblem(problemOf(e)),
    );
  };
  return (
    <>
      {problem !== null && <ProblemBox problem={problem} />}
      {seats.map((s) => (
        <Card key={s.id} title={s.name}>
          <Confirmed
            label={w.staff.takeOff}
            ask={w.staff.takeOffAsk(s.name)}
            go={w.staff.takeOffGo}
            icon="off"
            onGo={() => go(s)}
          />
        </Card>
      ))}
    </>
  );
}
