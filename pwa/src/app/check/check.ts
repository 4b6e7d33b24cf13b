// What a phone must be able to do to work without a network, and what each finding
// means. Pure: probes.ts looks, check.tsx shows.

export const probes = ['secure', 'worker', 'storage', 'wasm', 'persist', 'installed', 'camera', 'airplane'] as const;
export type Probe = (typeof probes)[number];

// Facts are what was found. 'unknown' fits every one of them: nothing was found yet.
export interface Facts {
  secure: boolean; // a secure context: HTTPS with a certificate that the phone trusts
  worker: 'rules' | 'ready' | 'none' | 'unsupported'; // ready: it will rule after the next load
  storage: 'works' | 'fails' | 'unsupported'; // opened, written, read back, deleted
  wasm: boolean;
  persist: 'granted' | 'refused' | 'unsupported'; // the browser promised not to clear the storage
  installed: boolean; // opened by its icon
  camera: 'there' | 'none' | 'unsupported';
  airplane: Airplane;
}

// Airplane is the trial of a load without a network.
export type Airplane =
  | 'todo'
  | 'works' // loaded by the service worker while the server did not answer
  | 'network' // the server answered: the network was still on
  | 'fails'; // loaded, but not by the service worker

// good: as it should be · fair: works, with a drawback · bad: no work without a network.
export type Grade = 'good' | 'fair' | 'bad' | 'todo';

export function grade(probe: Probe, f: Facts): Grade {
  switch (probe) {
    case 'secure':
      return f.secure ? 'good' : 'bad';
    case 'worker':
      return f.worker === 'rules' ? 'good' : f.worker === 'ready' ? 'fair' : 'bad';
    case 'storage':
      return f.storage === 'works' ? 'good' : 'bad';
    case 'wasm':
      return f.wasm ? 'good' : 'bad';
    case 'persist':
      return f.persist === 'granted' ? 'good' : 'fair';
    case 'installed':
      return f.installed ? 'good' : 'fair';
    case 'camera':
      return f.camera === 'there' ? 'good' : 'fair';
    case 'airplane':
      return f.airplane === 'works' ? 'good' : f.airplane === 'fails' ? 'bad' : 'todo';
  }
}

// whole is the verdict on the phone: the worst that counts.
export function whole(f: Facts): Grade {
  const grades = probes.map((p) => grade(p, f));
  return (['bad', 'todo', 'fair'] as const).find((g) => grades.includes(g)) ?? 'good';
}

// airplaneOf judges a load that was asked for as a trial.
export function airplaneOf(asked: boolean, serverAnswers: boolean, isByWorker: boolean): Airplane {
  if (!asked) return 'todo';
  if (serverAnswers) return 'network';
  return isByWorker ? 'works' : 'fails';
}
