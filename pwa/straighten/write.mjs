import { noType, op, putSigned, putUnsigned } from './module.mjs';

// write puts a function together again from its regions (see regions.mjs). Each region
// is laid out as Go lays out the function: blocks around what comes before each item,
// so that a jump forward leaves a block; and a loop around it all, so that a jump back
// takes its next turn. A table at its start leads to the items in which a goroutine
// can go on.
export function write(b, f, r) {
  const w = new Writer(b, f, r);
  return w.function();
}

class Writer {
  constructor(b, f, { root, inner }) {
    Object.assign(this, { b, f, root, inner, out: [], labels: [] });
    this.line = lineOf(root);
    this.after = new Map(this.line.map((x, i) => [x, this.line[i + 1]]));
    this.wanted = new Set(); // labels of blocks
    this.survey(root);
    this.hasInnerTable = regionsIn(root).some((r) => r !== root && r.entries.size > 0);
    for (const x of this.line) for (const to of this.jumpsOf(x)) this.wanted.add(this.label(x, to));
  }

  // survey notes in which item of a region each segment is, and where its table leads.
  survey(r) {
    r.at = new Map();
    r.items.forEach((item, k) => {
      if (typeof item !== 'number') this.survey(item);
      for (const x of typeof item === 'number' ? [item] : item.members) r.at.set(x, k);
    });
    r.entries = new Map(); // PC_B to item
    this.f.table.forEach((x, pc) => {
      if (x > 0 && r.at.has(x) && this.f.segments[x].isEntered) r.entries.set(pc, r.at.get(x));
    });
    for (const k of r.entries.values()) if (k > 0) this.wanted.add(blockOf(r, k));
  }

  // jumpsOf lists where a segment goes other than by falling into what follows.
  jumpsOf(x) {
    const to = this.f.segments[x].parts.filter((p) => p.jump !== undefined).map((p) => p.jump);
    const behind = this.fallsTo(x);
    return behind === undefined ? to : [...to, behind];
  }

  // fallsTo is the segment that x went on in, if a jump is needed for it now.
  fallsTo(x) {
    const s = this.f.segments[x];
    if (!s.falls || x + 1 === this.f.segments.length) return undefined;
    const isNext = this.after.get(x) === x + 1 && !this.isTurn(x, x + 1);
    return isNext ? undefined : x + 1;
  }

  // isTurn tells whether a jump from x to a segment begins the next turn of a loop.
  isTurn(x, to) {
    for (let r = this.inner.get(x); r !== null; r = r.parent) if (r.header === to) return true;
    return false;
  }

  // label is where a jump from x to another segment branches to.
  label(x, to) {
    for (let r = this.inner.get(x); r !== null; r = r.parent) {
      if (r.header === to) return loopOf(r);
      if (r.at.has(to)) return blockOf(r, r.at.get(to));
    }
    throw new Error('straighten: no way to a segment');
  }

  open(kind, label) {
    this.out.push(kind, noType);
    this.labels.push(label);
  }

  close(label) {
    if (this.labels.pop() !== label) throw new Error('straighten: blocks cross');
    this.out.push(op.end);
  }

  // branch branches to a label out of some blocks more that stand in a segment.
  branch(code, label, depth = 0) {
    this.out.push(code);
    this.depth(label, depth);
  }

  depth(label, more = 0) {
    const i = this.labels.lastIndexOf(label);
    if (i < 0) throw new Error(`straighten: no label ${label} here`);
    putUnsigned(this.out, this.labels.length - 1 - i + more);
  }

  copy(from, to) {
    for (let i = from; i < to; i++) this.out.push(this.b[i]);
  }

  function() {
    this.copy(this.f.from, this.f.head);
    if (this.f.hasExit) this.open(op.block, 'exit');
    this.region(this.root);
    this.out.push(op.unreachable);
    if (this.f.hasExit) {
      this.close('exit');
      this.out.push(op.i32Const, 1);
    }
    this.out.push(op.end);
    return Uint8Array.from(this.out);
  }

  region(r) {
    const isLoop = r.header >= 0, label = (k) => blockOf(r, k);
    if (isLoop) this.open(op.loop, loopOf(r));
    for (let k = r.items.length - 1; k > 0; k--) if (this.wanted.has(label(k))) this.open(op.block, label(k));
    if (r.entries.size > 0) this.table(r);
    r.items.forEach((item, k) => {
      if (k > 0 && this.wanted.has(label(k))) this.close(label(k));
      if (typeof item === 'number') this.segment(item);
      else this.region(item);
    });
    if (isLoop) this.close(loopOf(r));
  }

  // table leads to where a goroutine goes on; PC_B is 0 for everybody else. What has no
  // place in it cannot be: then the program stops.
  table(r) {
    const { out } = this, pcs = [...r.entries.keys()], low = Math.min(...pcs), high = Math.max(...pcs);
    this.open(op.block, 'start');
    this.open(op.block, 'nowhere');
    out.push(op.localGet, 0, op.i32Eqz);
    this.branch(op.brIf, 'start');
    out.push(op.localGet, 0, op.i32Const);
    putSigned(out, low);
    out.push(op.i32Sub, op.brTable);
    putUnsigned(out, high - low + 1);
    for (let pc = low; pc <= high; pc++) {
      const k = r.entries.get(pc);
      this.depth(k === undefined ? 'nowhere' : k === 0 ? 'start' : blockOf(r, k));
    }
    this.depth('nowhere');
    this.close('nowhere');
    out.push(op.unreachable);
    this.close('start');
  }

  segment(x) {
    const s = this.f.segments[x];
    if (s.isEntered && this.hasInnerTable) this.out.push(op.i32Const, 0, op.localSet, 0); // whoever has arrived goes on as everybody
    for (const p of s.parts) {
      if (p.jump !== undefined) this.branch(op.br, this.label(x, p.jump), p.depth);
      else if (p.exit !== undefined) this.branch(p.exit, 'exit', p.depth);
      else this.copy(p.from, p.to);
    }
    const to = this.fallsTo(x);
    if (to !== undefined) this.branch(op.br, this.label(x, to));
    else if (!s.falls || x + 1 === this.f.segments.length) this.out.push(op.unreachable);
  }
}

const loopOf = (r) => `loop ${r.header}`;
const blockOf = (r, k) => `item ${k} of ${r.header}`;
const lineOf = (r) => r.items.flatMap((item) => (typeof item === 'number' ? [item] : lineOf(item)));
const regionsIn = (r) => [r, ...r.items.filter((item) => typeof item !== 'number').flatMap(regionsIn)];
