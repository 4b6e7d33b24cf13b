// A phone that nobody uses yet has nothing to do while its first person finds the
// invitation. It lets the core read and fold pages of a made-up shop meanwhile, because
// browsers run a program slowly until they have seen which parts of it are busy: the
// real books come right after the sign-in, and somebody waits for them.

import type { RunningCore } from './running-core';

const pages = 16; // of 400 entries each

// rehearse works in small pieces and stops when isOver says so. It does not reject.
export async function rehearse(core: RunningCore, isOver: () => boolean): Promise<void> {
  for (let n = 0; n < pages; n++) {
    await new Promise((resolve) => setTimeout(resolve, 0));
    if (isOver() || !core.isRunning) return;
    try {
      core.call('rehearse', { n });
    } catch (e) {
      core.broke(e);
      return;
    }
  }
}
