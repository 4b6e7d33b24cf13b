// Runs a Go program for js/wasm in Node, straightened as the phone's core is:
//
//   GOOS=js GOARCH=wasm go test -exec 'node --stack-size=8192 …/pwa/straighten/run.mjs' PACKAGES
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { straighten } from './straighten.mjs';

const made = process.argv[2] + '.straight';
writeFileSync(made, straighten(readFileSync(process.argv[2])));
process.argv.splice(1, 2, 'wasm_exec_node.js', made);
createRequire(import.meta.url)(join(execFileSync('go', ['env', 'GOROOT']).toString().trim(), 'lib/wasm/wasm_exec_node.js'));
