// Puts the app on the page: the shell at once, then who we are, then the books.

import { effect, untracked } from '@preact/signals';
import { render } from 'preact';
import type { Core } from '../bridge/api';
import { Shell } from './shell/shell';
import { CoreContext, follow, hands, reboot } from './store/store';

export function start(core: Core, root: Element): void {
  follow(core);
  effect(() => {
    // in other hands all screens begin anew, and nothing of what they showed is left
    if (hands.value > 0) render(null, root);
    untracked(() =>
      render(
        <CoreContext.Provider value={core}>
          <Shell />
        </CoreContext.Provider>,
        root,
      ),
    );
  });
  void reboot(core);
}
