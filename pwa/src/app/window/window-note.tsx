// Says where this phone's own history begins, while the server cannot be asked.

import { day, words } from '../i18n/i18n';
import { Icon } from '../icon/icon';
import { status } from '../store/store';

export function WindowNote() {
  const s = status.value;
  if (s === null || s.windowMs === null || (s.online === 'yes' && s.unsent === 0)) return null;
  return <p class="hint with-icon"><Icon name="note" size={20} />{words().windowNote(day(s.windowMs))}</p>;
}
