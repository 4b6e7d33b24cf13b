// What remains of a figure on a phone: at rest, in everything that a page of its address
// can read, and in the memory of its windows.

// atRest looks for texts in all databases, caches and storages, and names the places.
export function atRest(page, texts) {
  return page.evaluate(async (wanted) => {
    const found = [];
    const plain = (v) => {
      if (v instanceof Uint8Array) return new TextDecoder('latin1').decode(v);
      if (v instanceof ArrayBuffer) return new TextDecoder('latin1').decode(new Uint8Array(v));
      if (Array.isArray(v)) return v.map(plain).join('\n');
      if (typeof v === 'object' && v !== null)
        return Object.entries(v)
          .map(([k, x]) => `${k}:${plain(x)}`)
          .join('\n');
      return String(v);
    };
    const look = (where, v) => {
      const text = plain(v);
      for (const w of wanted) if (text.includes(w)) found.push(where);
    };
    const result = (r) =>
      new Promise((ok, no) => {
        r.onsuccess = () => ok(r.result);
        r.onerror = () => no(r.error);
      });
    for (const { name } of await indexedDB.databases()) {
      const db = await result(indexedDB.open(name));
      for (const store of db.objectStoreNames) {
        const at = db.transaction(store).objectStore(store);
        const [keys, values] = await Promise.all([result(at.getAllKeys()), result(at.getAll())]);
        keys.forEach((k, i) => look(`${name} ${store} ${JSON.stringify(k)}`, values[i]));
      }
      db.close();
    }
    for (const name of await caches.keys()) {
      const cache = await caches.open(name);
      for (const request of await cache.keys())
        look(`cache ${request.url}`, new Uint8Array(await (await cache.match(request)).arrayBuffer()));
    }
    for (const [name, storage] of [
      ['localStorage', localStorage],
      ['sessionStorage', sessionStorage],
    ])
      look(name, { ...storage });
    return [...new Set(found)];
  }, texts);
}

// inMemory looks for texts in what a page and its workers hold: their strings, and the
// memory of every WebAssembly program that is still alive.
export async function inMemory(page, texts) {
  const found = [],
    cdp = await page.context().newCDPSession(page);
  const direct = (method, params = {}) => cdp.send(method, params);
  if (
    await heapHas(
      direct,
      (fn) => {
        cdp.on('HeapProfiler.addHeapSnapshotChunk', fn);
      },
      texts,
    )
  )
    found.push('page');
  const workers = [],
    waiting = new Map();
  let serial = 0,
    chunk = () => undefined;
  cdp.on('Target.attachedToTarget', (t) => {
    if (t.targetInfo.type === 'worker') workers.push(t.sessionId);
  });
  cdp.on('Target.receivedMessageFromTarget', ({ message }) => {
    const m = JSON.parse(message);
    if (m.method === 'HeapProfiler.addHeapSnapshotChunk') chunk(m.params);
    waiting.get(m.id)?.(m);
    waiting.delete(m.id);
  });
  await cdp.send('Target.setAutoAttach', { autoAttach: true, waitForDebuggerOnStart: false, flatten: false });
  for (const sessionId of workers) {
    const send = (method, params = {}) =>
      new Promise((ok, no) => {
        const id = ++serial;
        waiting.set(id, (m) => (m.error === undefined ? ok(m.result) : no(new Error(`${method}: ${m.error.message}`))));
        cdp
          .send('Target.sendMessageToTarget', { sessionId, message: JSON.stringify({ id, method, params }) })
          .catch(no);
      });
    if (
      await heapHas(
        send,
        (fn) => {
          chunk = fn;
        },
        texts,
      )
    )
      found.push('worker');
    const { result } = await send('Runtime.evaluate', { expression: 'WebAssembly.Memory.prototype' });
    const { objects } = await send('Runtime.queryObjects', { prototypeObjectId: result.objectId });
    const search = `function (wanted) { return this.filter((m) => m.buffer !== undefined && wanted.some((w) => new TextDecoder('latin1').decode(new Uint8Array(m.buffer)).includes(w))).length; }`;
    const { result: n } = await send('Runtime.callFunctionOn', {
      objectId: objects.objectId,
      functionDeclaration: search,
      arguments: [{ value: texts }],
      returnByValue: true,
    });
    if (n.value > 0) found.push('core');
  }
  await cdp.detach();
  return { found, workers: workers.length };
}

async function heapHas(send, onChunk, texts) {
  let text = '';
  onChunk(({ chunk }) => {
    text += chunk;
  });
  await send('HeapProfiler.enable');
  await send('HeapProfiler.collectGarbage');
  await send('HeapProfiler.takeHeapSnapshot', { reportProgress: false });
  await send('HeapProfiler.disable');
  return texts.some((t) => text.includes(t));
}
