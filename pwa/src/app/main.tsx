// The page's entry.

import { render } from 'preact';
import { connect } from '../bridge/connect';
import { registerShell } from '../bridge/shell';
import { ProblemBox } from './controls/page';
import { PlainHTTP } from './plain-http/plain-http';
import { start } from './start';
import { problemOf, stuck, update } from './store/store';

const root = document.getElementById('app');
if (root !== null && !isSecureContext) {
  render(<PlainHTTP />, root);
} else if (root !== null) {
  try {
    const core = connect();
    start(core, root);
    void registerShell({
      onUpdate: (u) => {
        update.value = u;
      },
      onStuck: (file) => {
        stuck.value = file;
        core.updateStuck(file);
      },
    });
  } catch (e) {
    const fault = problemOf(e);
    const isNoWasm = typeof WebAssembly === 'undefined';
    render(
      <main class="page">
        <ProblemBox problem={isNoWasm ? { code: 'no_wasm', title: '' } : fault} />
      </main>,
      root,
    );
  }
}
