import { noType, op, past, unsigned } from './module.mjs';

// A segment is what stands between two places where a function can be entered or
// jumped to. Its parts are bytes that stay as they are, from and to; jumps, by the
// segment they go to; and ways out of the function while it is put aside, by their
// instruction. depth is how many blocks of its own a part stands in.
//
//   {parts: [{from, to} | {jump, depth} | {exit, depth}], falls, isEntered, call}
//
// falls: it goes on in the one behind it; isEntered: by the table, from outside;
// call: the function called at its end, -1 for one that is found by the table of
// functions, undefined for none.

const stackAnew = [op.globalGet, 0, op.localSet, 1]; // behind each call, and at the start

const same = (b, i, codes) => codes.every((code, k) => b[i + k] === code);

// take takes a function apart; undefined if it has no jumps. It throws at a shape that
// the Go compiler does not make.
export function take(b, { code, to }) {
  let i = code;
  if (!same(b, i, stackAnew)) return undefined; // written by hand
  i += 4;
  const head = i, hasExit = same(b, i, [op.block, noType, op.loop, noType]);
  if (hasExit) i += 2;
  if (!same(b, i, [op.loop, noType])) return undefined;
  let blocks = 0;
  for (i += 2; same(b, i, [op.block, noType]); i += 2) blocks++;
  if (!same(b, i, [op.localGet, 0, op.brTable])) throw new Error('straighten: a loop without its table');
  const f = { head, hasExit, table: [], segments: [] };
  let [last, at] = unsigned(b, i + 3);
  for (let t; last >= 0; last--) {
    [t, at] = unsigned(b, at);
    f.table.push(t);
  }
  for (let k = 0; k < blocks; k++) at = segment(b, at + 1, f, blocks - 1 - k);
  if (!same(b, at, [op.end, op.unreachable, op.end, ...(hasExit ? [op.i32Const, 1, op.end] : [])])) throw new Error('straighten: no end');
  if (at + (hasExit ? 6 : 3) !== to) throw new Error('straighten: more behind the end');
  return f;
}

// segment takes the next segment, around which as many blocks stand as given, and the
// loop around those. It gives the place of the `end` behind it.
function segment(b, i, f, around) {
  const s = { parts: [], falls: true, isEntered: false, call: undefined };
  let depth = 0, kept = i, isOver = false;
  const before = [-1, -1, -1, -1]; // the instructions before, the nearest first
  const keep = (end) => end > kept && s.parts.push({ from: kept, to: end });
  for (;;) {
    const code = b[i], next = past(b, i);
    if (s.call !== undefined && code !== op.end) throw new Error('straighten: a call with something behind it');
    if (code === op.block || code === op.loop || code === op.if) depth++;
    else if (code === op.end && depth-- === 0) break;
    else if (code === op.brTable) throw new Error('straighten: a table inside');
    else if (usesTheWay(b, i) || (code === op.callIndirect && !isOverAfter(b, next, depth))) throw new Error('straighten: local 0 is used');
    else if (code === op.br || code === op.brIf) {
      const outside = unsigned(b, i + 1)[0] - depth - around;
      if (outside === 0) {
        const [set, number] = before;
        if (code !== op.br || !same(b, set, [op.localSet, 0]) || b[number] !== op.i32Const) throw new Error('straighten: a jump without its target');
        keep(number);
        const [pc] = unsigned(b, number + 1); // written as a signed number, but never negative
        s.parts.push({ jump: f.table[Math.min(pc, f.table.length - 1)], depth });
      } else if (outside === 1 && f.hasExit) {
        keep(i);
        s.parts.push({ exit: code, depth });
        if (depth === 0 && code === op.brIf) s.call = calledBefore(b, before);
      } else if (outside >= -around) throw new Error('straighten: a branch to somewhere else');
      if (outside >= 0) kept = next;
    }
    isOver = depth === 0 && (code === op.br || code === op.return || code === op.unreachable);
    before.unshift(i);
    before.pop();
    i = next;
  }
  keep(i);
  s.falls = !isOver;
  f.segments.push(s);
  return i;
}

// usesTheWay tells whether the instruction at b[i] needs what is in local 0. A call
// through the table of functions does not: it sets it first.
function usesTheWay(b, i) {
  if (b[i] === op.localTee) return b[i + 1] === 0;
  return b[i] === op.localGet && b[i + 1] === 0 && !same(b, i - 4, [op.localSet, 0, op.i32Const, 0, op.localGet, 0, op.callIndirect]);
}

// isOverAfter tells whether a segment ends with the call before b[i], which has spoilt
// local 0: either the function does, or a segment that is entered by the table follows.
function isOverAfter(b, i, depth) {
  return same(b, i, stackAnew) && (b[i + 4] === op.return || (b[i + 4] === op.brIf && depth === 0));
}

// calledBefore is the function whose answer `br_if` looks at. Between them Go gets the
// stack pointer anew.
function calledBefore(b, [set, get, call]) {
  if (get < 0 || set !== get + 2 || !same(b, get, stackAnew)) throw new Error('straighten: a way out without its call');
  if (b[call] === op.callIndirect) return -1;
  if (b[call] !== op.call) throw new Error('straighten: a way out without its call');
  return unsigned(b, call + 1)[0];
}

// answers says what a function tells its caller: whether it ever goes on behind the
// call, and whether it ever asks to be put aside by a return of its own. A function
// that fails always does neither.
export function answers(b, { code, to }) {
  const found = { goesOn: false, putsAside: false };
  for (let i = code, before = -1; i < to; before = i, i = past(b, i)) {
    if (b[i] !== op.return) continue;
    if (before >= 0 && same(b, before, [op.i32Const, 1])) found.putsAside = true;
    else found.goesOn = true;
  }
  return found;
}

// open marks the segments that the table leads to from outside: the first one; what
// stands behind a call, where a goroutine goes on that was put aside in it; and the
// call of deferreturn, where Go's runtime goes on after a panic that was recovered.
// answerOf gives what a function answers.
export function open(f, answerOf, deferReturn) {
  f.segments[0].isEntered = true;
  f.segments.forEach((s, k) => {
    if (s.call === undefined) return;
    if (s.call === deferReturn) s.isEntered = true;
    const { goesOn, putsAside } = answerOf(s.call);
    if (!goesOn) s.falls = false;
    const behind = f.segments[k + 1];
    if (behind && (goesOn || putsAside)) behind.isEntered = true;
  });
}
