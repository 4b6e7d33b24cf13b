// Gives the functions of a Go program in WebAssembly branches and loops of their own.
//
// Go's compiler (cmd/internal/obj/wasm/wasmobj.go of Go 1.26) cuts a function into
// segments and lays them one behind the other, so that a goroutine that was put aside
// can go on at any of them:
//
//   loop  block block block  local.get 0  br_table  end  segment 0  end  segment 1  end  segment 2  end
//
// Every jump, also the shortest one forward and the one back in a loop, puts a number
// into local 0, called PC_B, goes to the top and is sent on by the table. No engine
// takes that apart again: a loop over bytes goes through the table twice or three times
// a byte. Here a jump forward leaves a block, and one back is the next turn of a loop
// of its own. The table is left for those who go on in the middle, behind a call.
//
// The instructions of a segment stay as they are; so do addresses of functions, numbers
// of segments (the low bits of a return address) and what Go's runtime knows of them.
// A function with a loop that has two ways in stays as it is, too, and so does every
// module of a compiler that was not looked at.
import { bodiesOf, compilerOf, importsOf, namesOf, past, putUnsigned, sections } from './module.mjs';
import { regions } from './regions.mjs';
import { answers, open, take } from './segments.mjs';
import { write } from './write.mjs';

// These end in a jump out of themselves, which the compiler does not know: it has them
// go on behind it.
const never = ['runtime.gopanic', 'runtime.throw', 'runtime.fatal', 'runtime.fatalthrow', 'runtime.fatalpanic', 'runtime.abort'];

// known are the compilers whose modules it takes apart. Before another is let in: read
// wasmobj.go of its source against the above, then `make test-wasm`, and the tests of
// Go's own runtime, sync and reflect by run.mjs.
const known = /^go1\.26(\.|$)/;

// straighten gives the module anew, without its names; told gets the functions with
// jumps, counted, and those among them that were left as they are; and `unknown`, the
// compiler, if all were because of it. The module needs its names: link it without -s.
export function straighten(b, told = {}) {
  const all = sections(b), imports = importsOf(b, all.find((s) => s.id === 2));
  const numbers = all.filter((s) => s.id === 0).map((s) => namesOf(b, s)).find((n) => n !== undefined);
  if (numbers === undefined) throw new Error('straighten: the module has no names');
  const code = all.find((s) => s.id === 10), bodies = bodiesOf(b, code), compiler = compilerOf(b);
  if (!known.test(compiler)) {
    told.unknown = compiler;
    return joined(b, all, code, bodies.map((body) => b.subarray(body.from, body.to)));
  }
  const found = bodies.map((body) => answers(b, body));
  for (const name of never) if (numbers.has(name)) found[numbers.get(name) - imports] = { goesOn: false, putsAside: false };
  const answerOf = (called) => found[called - imports] ?? { goesOn: true, putsAside: true };
  Object.assign(told, { functions: 0, left: 0 });
  const made = bodies.map((body) => {
    const f = take(b, body);
    if (f === undefined) return b.subarray(body.from, body.to);
    told.functions++;
    open(f, answerOf, numbers.get('runtime.deferreturn'));
    const r = regions(f);
    if (r === undefined) told.left++;
    return r === undefined ? b.subarray(body.from, body.to) : write(b, { ...f, from: body.from }, r);
  });
  return joined(b, all, code, made);
}

function joined(b, all, code, bodies) {
  const number = (n) => {
    const out = [];
    putUnsigned(out, n);
    return Uint8Array.from(out);
  };
  const content = [number(bodies.length), ...bodies.flatMap((body) => [number(body.length), body])];
  const size = content.reduce((n, part) => n + part.length, 0);
  const parts = [b.subarray(0, 8)];
  for (const s of all) {
    if (s === code) parts.push(Uint8Array.of(code.id), number(size), ...content);
    else if (s.id !== 0 || namesOf(b, s) === undefined) parts.push(b.subarray(s.at, s.to));
  }
  return Buffer.concat(parts);
}
