// regions finds the loops of a function and gives them and the segments between them
// an order in which every jump goes forward but those that begin a loop's next turn.
// It is undefined for a function with a loop that can be entered in its middle by
// other than the table.
//
//   {header, parent, items, members}
//
// header: the segment at which a loop begins, -1 for the function as a whole; items:
// segments and regions in their order, the header first; members: all segments inside,
// also those of the regions inside. What is never reached is left out.
export function regions(f) {
  const g = graph(f.segments), loops = naturalLoops(g);
  if (loops === undefined) return undefined;
  const root = { header: -1, parent: null, items: [], members: new Set(g.order) };
  const inner = new Map(g.order.map((x) => [x, root])); // the innermost region of a segment
  const byHeader = new Map();
  for (const [header, members] of [...loops].sort((a, b) => b[1].size - a[1].size)) { // outer ones first
    const r = { header, parent: inner.get(header), items: [], members };
    for (const x of members) inner.set(x, r);
    byHeader.set(header, r);
  }
  for (const r of [root, ...byHeader.values()]) r.items = inOrder(r, g.next, inner).map((x) => (inner.get(x) === r ? x : byHeader.get(x)));
  return { root, inner };
}

// graph says which segments follow which; order is a reverse postorder of those that
// are reached; place is where a segment stands in it; roots are those that only the
// table leads to.
function graph(segments) {
  const next = segments.map((s, k) => {
    const to = s.parts.filter((p) => p.jump !== undefined).map((p) => p.jump);
    if (s.falls && k + 1 < segments.length) to.push(k + 1);
    return [...new Set(to)];
  });
  const order = [], seen = new Set(), roots = new Set();
  segments.forEach((s, root) => {
    if (!s.isEntered || seen.has(root)) return;
    roots.add(root);
    seen.add(root);
    for (const way = [{ x: root, at: 0 }]; way.length > 0;) {
      const here = way.at(-1), to = next[here.x][here.at++];
      if (to === undefined) order.push(way.pop().x);
      else if (!seen.has(to)) {
        seen.add(to);
        way.push({ x: to, at: 0 });
      }
    }
  });
  order.reverse();
  const before = segments.map(() => []);
  for (const x of order) for (const to of next[x]) before[to].push(x);
  return { next, before, order, roots, place: new Map(order.map((x, i) => [x, i])) };
}

// dominators gives for every segment the nearest one that all ways to it pass, -1 for
// none: Cooper, Harvey and Kennedy, "A Simple, Fast Dominance Algorithm", 2001.
function dominators({ before, order, roots, place }) {
  const above = new Map();
  const meet = (a, b) => {
    while (a !== b) {
      if (a === -1 || b === -1) return -1;
      if (place.get(a) > place.get(b)) a = above.get(a);
      else b = above.get(b);
    }
    return a;
  };
  for (let isNew = true; isNew;) {
    isNew = false;
    for (const x of order) {
      const known = before[x].filter((p) => above.has(p));
      const d = roots.has(x) ? -1 : known.reduce(meet);
      if (above.get(x) !== d) isNew = Boolean(above.set(x, d));
    }
  }
  return above;
}

// naturalLoops gives the members of each loop by its header; undefined if a jump back
// leads to a segment that not every way passes.
function naturalLoops(g) {
  const above = dominators(g), loops = new Map();
  const passes = (x, header) => {
    while (g.place.get(x) > g.place.get(header)) x = above.get(x);
    return x === header;
  };
  for (const x of g.order) {
    for (const header of g.next[x]) {
      if (g.place.get(header) > g.place.get(x)) continue;
      if (!passes(x, header)) return undefined;
      const members = loops.get(header) ?? new Set([header]);
      loops.set(header, members);
      for (const more = [x]; more.length > 0;) {
        const y = more.pop();
        if (!members.has(y)) more.push(...g.before[y]);
        members.add(y);
      }
    }
  }
  return loops;
}

// inOrder puts the segments and, by their headers, the loops that lie directly in r in
// an order in which one comes behind all that lead to it, otherwise as Go had them.
function inOrder(r, next, inner) {
  const own = (x) => { // the segment, or the header of the loop in r that it is in
    let q = inner.get(x);
    if (q === r) return x;
    while (q.parent !== r) q = q.parent;
    return q.header;
  };
  const to = new Map([...r.members].map((x) => [own(x), new Set()])), waits = new Map([...to.keys()].map((x) => [x, 0]));
  for (const x of r.members) {
    for (const y of next[x]) {
      if (!r.members.has(y) || y === r.header || own(y) === own(x) || to.get(own(x)).has(own(y))) continue;
      to.get(own(x)).add(own(y));
      waits.set(own(y), waits.get(own(y)) + 1);
    }
  }
  const ready = [...to.keys()].filter((x) => waits.get(x) === 0).sort((a, b) => b - a), list = []; // the lowest last
  while (ready.length > 0) {
    const x = ready.pop();
    list.push(x);
    for (const y of to.get(x)) {
      waits.set(y, waits.get(y) - 1);
      if (waits.get(y) === 0) ready.splice(ready.findLastIndex((z) => z > y) + 1, 0, y);
    }
  }
  return list;
}
