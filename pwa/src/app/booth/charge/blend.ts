// Taking the core's best blend over into the form, word for word.

import type { BestBlend } from '../../../bridge/api';
import type { Form } from '../../task/task';

// takeBlend fills every field the blend decides; what it does not use is emptied.
export function takeBlend(best: BestBlend): Form {
  const virgin = best.virgin.mg > 0,
    reclaim = best.reclaim.mg > 0;
  return {
    virgin: virgin ? best.virgin.text : '',
    reclaim: reclaim ? best.reclaim.text : '',
    lot: virgin ? (best.lot ?? '') : '',
    shelf: virgin ? (best.from ?? '') : '',
    bin: reclaim ? (best.bin ?? '') : '',
  };
}

// isBlendTaken tells whether the form says just that.
export function isBlendTaken(form: Form, best: BestBlend): boolean {
  const want = takeBlend(best);
  return (
    (want['virgin'] !== '' || want['reclaim'] !== '') &&
    (['virgin', 'reclaim'] as const).every((f) => (form[f] ?? '') === want[f])
  );
}
