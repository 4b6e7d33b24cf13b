// A pipe before a server that counts the bytes of both ways, heads and all.
import net from 'node:net';

export async function pipeTo(port) {
  let up = 0,
    down = 0;
  const open = new Set();
  const server = net.createServer((near) => {
    const far = net.connect(port, '127.0.0.1');
    open.add(near);
    near.on('data', (b) => {
      up += b.length;
    });
    far.on('data', (b) => {
      down += b.length;
    });
    near.pipe(far).pipe(near);
    const end = () => {
      open.delete(near);
      near.destroy();
      far.destroy();
    };
    for (const s of [near, far]) s.on('error', end).on('close', end);
  });
  await new Promise((ok) => server.listen(0, 'localhost', ok));
  return {
    url: `http://localhost:${server.address().port}`,
    reset() {
      up = 0;
      down = 0;
    },
    count: () => ({ up, down }),
    close: () =>
      new Promise((ok) => {
        for (const s of open) s.destroy();
        server.close(ok);
      }),
  };
}
