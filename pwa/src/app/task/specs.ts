// The plain forms as data: which fields a task asks for, in which order. Forms with
// more to show (change, charge, weigh) have folders of their own.

export type Spec = { name: string; isOptional?: true } & (
  | {
      kind:
        | 'mass'
        | 'text'
        | 'long'
        | 'date'
        | 'whole'
        | 'decimal'
        | 'count'
        | 'area'
        | 'temp'
        | 'pressure'
        | 'length'
        | 'film'
        | 'spots'
        | 'yes'
        | 'checks'
        | 'powder'
        | 'booth'
        | 'lot'
        | 'reason';
    }
  | {
      kind: 'choice';
      of:
        | 'levels'
        | 'modes'
        | 'placeKinds'
        | 'chemistries'
        | 'finishes'
        | 'roles'
        | 'unitSystems'
        | 'languages'
        | 'grounds';
    }
  | { kind: 'place'; only: readonly ('shelf' | 'vessel' | 'scrap')[] }
);

const vessel = ['vessel'] as const,
  holds = ['shelf', 'vessel'] as const,
  scrap = ['scrap'] as const,
  every = ['shelf', 'vessel', 'scrap'] as const;

export const specs: Readonly<Record<string, readonly Spec[]>> = {
  recover: [
    { name: 'to', kind: 'place', only: vessel },
    { name: 'mass', kind: 'mass' },
    { name: 'gross', kind: 'yes' },
    { name: 'sieved', kind: 'yes' },
  ],
  scrap: [
    { name: 'from', kind: 'place', only: holds },
    { name: 'lot', kind: 'lot' },
    { name: 'mass', kind: 'mass' },
    { name: 'to', kind: 'place', only: scrap },
    { name: 'why', kind: 'reason' },
  ],
  move: [
    { name: 'lot', kind: 'lot' },
    { name: 'from', kind: 'place', only: holds },
    { name: 'to', kind: 'place', only: every },
    { name: 'mass', kind: 'mass' },
    { name: 'why', kind: 'text', isOptional: true },
  ],
  clean: [
    { name: 'level', kind: 'choice', of: 'levels' },
    { name: 'minutes', kind: 'whole' },
    { name: 'crew', kind: 'count', isOptional: true },
    { name: 'checks', kind: 'checks' },
  ],
  parts: [
    { name: 'job', kind: 'text' },
    { name: 'count', kind: 'whole' },
    { name: 'area', kind: 'area' },
    { name: 'coats', kind: 'count', isOptional: true },
  ],
  film: [{ name: 'spots', kind: 'spots' }],
  'run.close': [],
  ground: [
    { name: 'ok', kind: 'choice', of: 'grounds' },
    { name: 'ohm', kind: 'whole', isOptional: true },
  ],
  climate: [
    { name: 'temp', kind: 'temp' },
    { name: 'rh', kind: 'decimal', isOptional: true },
    { name: 'place', kind: 'place', only: ['shelf'], isOptional: true },
  ],
  output: [
    { name: 'main', kind: 'pressure' },
    { name: 'mass', kind: 'mass' },
    { name: 'seconds', kind: 'whole' },
    { name: 'powder', kind: 'powder' },
  ],
  deposit: [
    { name: 'flow', kind: 'mass' },
    { name: 'te', kind: 'decimal' },
    { name: 'powder', kind: 'powder' },
  ],
  cure: [{ name: 'points', kind: 'long' }],
  plan: [
    { name: 'job', kind: 'text' },
    { name: 'powder', kind: 'powder' },
    { name: 'count', kind: 'whole' },
    { name: 'area', kind: 'area' },
    { name: 'due', kind: 'date', isOptional: true },
  ],
  'set.setup': [
    { name: 'name', kind: 'text' },
    { name: 'powder', kind: 'powder', isOptional: true },
    { name: 'booth', kind: 'booth', isOptional: true },
    { name: 'parts', kind: 'text', isOptional: true },
    { name: 'kv', kind: 'whole', isOptional: true },
    { name: 'ua', kind: 'whole', isOptional: true },
    { name: 'main', kind: 'pressure', isOptional: true },
    { name: 'extra', kind: 'pressure', isOptional: true },
    { name: 'distance', kind: 'length', isOptional: true },
    { name: 'nozzle', kind: 'text', isOptional: true },
    { name: 'charging', kind: 'text', isOptional: true },
    { name: 'worked', kind: 'yes' },
  ],
  receive: [
    { name: 'powder', kind: 'powder' },
    { name: 'batch', kind: 'text' },
    { name: 'packs', kind: 'count', isOptional: true },
    { name: 'pack_mass', kind: 'mass', isOptional: true },
    { name: 'mass', kind: 'mass' }, // or boxes and the mass of one, as its hint says
    { name: 'place', kind: 'place', only: ['shelf'] },
    { name: 'made', kind: 'date', isOptional: true },
    { name: 'use_by', kind: 'date', isOptional: true },
    { name: 'price', kind: 'decimal', isOptional: true },
  ],
  partbox: [
    { name: 'lot', kind: 'lot' },
    { name: 'place', kind: 'place', only: ['shelf'] },
    { name: 'mass', kind: 'mass' },
    { name: 'gross', kind: 'yes' },
  ],
  hold: [{ name: 'why', kind: 'reason' }],
  release: [{ name: 'why', kind: 'reason' }],
  void: [{ name: 'why', kind: 'reason' }],
  note: [{ name: 'text', kind: 'long' }],
  admit: [{ name: 'why', kind: 'long', isOptional: true }],
  decline: [{ name: 'why', kind: 'long', isOptional: true }],
  'set.powder': [
    { name: 'name', kind: 'text' },
    { name: 'code', kind: 'text', isOptional: true },
    { name: 'maker', kind: 'text', isOptional: true },
    { name: 'chemistry', kind: 'choice', of: 'chemistries' },
    { name: 'finish', kind: 'choice', of: 'finishes' },
    { name: 'sg', kind: 'decimal' },
    { name: 'film_min', kind: 'film' },
    { name: 'film_target', kind: 'film' },
    { name: 'film_max', kind: 'film' },
    { name: 'reclaim_max', kind: 'decimal' },
    { name: 'passes_max', kind: 'count', isOptional: true },
    { name: 'shelf_months', kind: 'count', isOptional: true },
    { name: 'store_max', kind: 'temp', isOptional: true },
    { name: 'mec', kind: 'decimal', isOptional: true },
    { name: 'cure_temp', kind: 'temp', isOptional: true },
    { name: 'cure_min', kind: 'decimal', isOptional: true },
    { name: 'cure_max', kind: 'decimal', isOptional: true },
    { name: 'lead_days', kind: 'count', isOptional: true },
    { name: 'box', kind: 'mass', isOptional: true },
    { name: 'lab', kind: 'text', isOptional: true },
  ],
  'set.place': [
    { name: 'name', kind: 'text' },
    { name: 'kind', kind: 'choice', of: 'placeKinds' },
    { name: 'booth', kind: 'booth', isOptional: true },
    { name: 'tare', kind: 'mass', isOptional: true },
    { name: 'capacity', kind: 'mass', isOptional: true },
  ],
  'set.booth': [
    { name: 'name', kind: 'text' },
    { name: 'exhaust', kind: 'whole', isOptional: true },
    { name: 'guns', kind: 'count', isOptional: true },
    { name: 'te', kind: 'decimal', isOptional: true },
    { name: 'recovery', kind: 'decimal', isOptional: true },
  ],
  'set.person': [
    { name: 'name', kind: 'text' },
    { name: 'role', kind: 'choice', of: 'roles' },
    { name: 'gone', kind: 'yes' },
  ],
  'set.shop': [
    { name: 'name', kind: 'text' },
    { name: 'zone', kind: 'text' },
    { name: 'units', kind: 'choice', of: 'unitSystems' },
    { name: 'currency', kind: 'text' },
    { name: 'lang', kind: 'choice', of: 'languages' },
  ],
};

export const checkCodes = ['gun', 'hoses', 'pump', 'booth', 'hopper', 'sieve', 'filters', 'grounded'] as const;

// sections says where a task is at home: where its back button leads.
export function homeOf(task: string): 'booth' | 'room' | 'today' | 'office' {
  switch (task) {
    case 'receive':
    case 'partbox':
    case 'move':
    case 'hold':
    case 'release':
    case 'climate':
      return 'room';
    case 'plan':
      return 'today';
    case 'set.setup':
      return 'booth';
    case 'void':
    case 'note':
    case 'admit':
    case 'decline':
      return 'office';
    default:
      return task.startsWith('set.') ? 'office' : 'booth';
  }
}
