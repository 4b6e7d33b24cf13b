// Puts the app on the page: the shell at once, then who we are, then the books.

import { render } from 'preact';
import type { Core } from '../bridge/api';
import { Shell } from './shell/shell';
import { CoreContext, follow, reboot } from './store/store';

export function start(core: Core, root: Element): void {
  follow(core);
  render(<CoreContext.Provider value={core}><Shell /></CoreContext.Provider>, root);
  void reboot(core);
}
