// The bytes of a WebAssembly module, as far as straighten needs them: WebAssembly Core
// Specification 2.0, chapter 5 (binary format).

export const op = {
  unreachable: 0x00, nop: 0x01, block: 0x02, loop: 0x03, if: 0x04, else: 0x05, end: 0x0b, br: 0x0c, brIf: 0x0d, brTable: 0x0e, return: 0x0f,
  call: 0x10, callIndirect: 0x11, localGet: 0x20, localSet: 0x21, localTee: 0x22, globalGet: 0x23, i32Const: 0x41, i32Eqz: 0x45, i32Sub: 0x6b,
};
export const noType = 0x40; // of a block that takes and leaves nothing

// unsigned reads a number in LEB128 at b[i]: [the number, the place behind it].
export function unsigned(b, i) {
  let value = 0, scale = 1, byte;
  do {
    byte = b[i++];
    value += (byte & 127) * scale;
    scale *= 128;
  } while (byte & 128);
  return [value, i];
}

export function putUnsigned(out, value) {
  for (; value > 127; value = Math.floor(value / 128)) out.push((value & 127) | 128);
  out.push(value);
}

// putSigned writes a number from 0 on as a signed one.
export function putSigned(out, value) {
  for (; value > 63; value = Math.floor(value / 128)) out.push((value & 127) | 128);
  out.push(value);
}

function pastNumber(b, i) {
  while (b[i] & 128) i++;
  return i + 1;
}

// past is the place behind the instruction at b[i]. It knows what Go 1.26 writes and
// throws at anything else.
export function past(b, i) {
  const code = b[i++];
  if (code === op.unreachable || code === op.nop || code === op.else || code === op.end || code === op.return || code === 0x1a || code === 0x1b || (code >= 0x45 && code <= 0xc4)) return i;
  if (code === op.block || code === op.loop || code === op.if) return i + 1;
  if (code === op.br || code === op.brIf || code === op.call || (code >= 0x20 && code <= 0x24) || code === op.i32Const || code === 0x42) return pastNumber(b, i);
  if (code === op.callIndirect || (code >= 0x28 && code <= 0x3e)) return pastNumber(b, pastNumber(b, i));
  if (code === 0x3f || code === 0x40) return i + 1; // memory.size, memory.grow
  if (code === 0x43) return i + 4;
  if (code === 0x44) return i + 8;
  if (code === op.brTable) {
    let n;
    [n, i] = unsigned(b, i);
    for (let k = 0; k <= n; k++) i = pastNumber(b, i);
    return i;
  }
  if (code === 0xfc) {
    const more = b[i++];
    if (more <= 7) return i; // trunc_sat
    if (more === 10) return i + 2; // memory.copy
    if (more === 11) return i + 1; // memory.fill
  }
  throw new Error(`straighten: unknown instruction ${code.toString(16)}`);
}

// sections lists what a module consists of: its id, where it begins, where its
// content does and where it ends.
export function sections(b) {
  const list = [];
  for (let i = 8; i < b.length;) {
    const [size, from] = unsigned(b, i + 1);
    list.push({ id: b[i], at: i, from, to: from + size });
    i = from + size;
  }
  return list;
}

const text = (b, i) => {
  const [n, from] = unsigned(b, i);
  return [new TextDecoder().decode(b.subarray(from, from + n)), from + n];
};

// compilerOf gives the Go that made a module, by its custom section "producers"
// (WebAssembly tool conventions): "go1.26.8"; '' when it does not say.
export function compilerOf(b) {
  for (const { from } of sections(b).filter((s) => s.id === 0)) {
    let [what, i] = text(b, from), fields, n, field, name, version;
    if (what !== 'producers') continue;
    for ([fields, i] = unsigned(b, i); fields > 0; fields--) {
      [field, i] = text(b, i);
      for ([n, i] = unsigned(b, i); n > 0; n--) {
        [name, i] = text(b, i);
        [version, i] = text(b, i);
        if (name === 'Go cmd/compile') return version;
      }
    }
  }
  return '';
}

// importsOf is how many functions are imported; Go imports nothing else.
export function importsOf(b, { from }) {
  let [n, i] = unsigned(b, from);
  for (let k = 0; k < n; k++) {
    [, i] = text(b, i);
    [, i] = text(b, i);
    if (b[i++] !== 0) throw new Error('straighten: an import that is no function');
    i = pastNumber(b, i);
  }
  return n;
}

// namesOf gives the functions' numbers by their names, out of the custom section
// "name"; undefined for another section.
export function namesOf(b, { from, to }) {
  let [what, i] = text(b, from);
  if (what !== 'name') return undefined;
  const numbers = new Map();
  while (i < to) {
    const kind = b[i];
    let size, n;
    [size, i] = unsigned(b, i + 1);
    const end = i + size;
    if (kind === 1) {
      [n, i] = unsigned(b, i);
      for (let k = 0, number, name; k < n; k++) {
        [number, i] = unsigned(b, i);
        [name, i] = text(b, i);
        numbers.set(name, number);
      }
    }
    i = end;
  }
  return numbers;
}

// bodiesOf lists the functions: where each begins and ends, and its first instruction.
export function bodiesOf(b, section) {
  const list = [];
  let [n, i] = unsigned(b, section.from);
  for (let k = 0, size; k < n; k++) {
    [size, i] = unsigned(b, i);
    let [kinds, code] = unsigned(b, i);
    for (; kinds > 0; kinds--) code = pastNumber(b, code) + 1;
    list.push({ from: i, code, to: i + size });
    i += size;
  }
  return list;
}
