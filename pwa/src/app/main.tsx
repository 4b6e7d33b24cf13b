// The page's entry.

import { render } from 'preact';
import { connect } from '../bridge/connect';
import { registerShell } from '../bridge/shell';
import { ProblemBox } from './controls/page';
import { start } from './start';
import { problemOf, update } from './store/store';

const root = document.getElementById('app');
if (root !== null) {
  try {
    start(connect(), root);
    void registerShell((u) => { update.value = u; });
  } catch (e) {
    const fault = problemOf(e);
    const isNoWasm = typeof WebAssembly === 'undefined';
    render(<main class="page"><ProblemBox problem={isNoWasm ? { code: 'no_wasm', title: '' } : fault} /></main>, root);
  }
}
