// English words about the gun, the ground, the oven and the work to come.

import { plural } from './plural';

type Table = Readonly<Record<string, string>>;

export const gun = {
  title: 'Gun and ground', inUse: 'Set-up in use', noSetup: 'This run names no set-up.', setups: 'Set-ups for this powder', noSetups: 'None for this powder yet.', addSetup: 'New set-up',
  worked: 'worked', never: 'did not work yet', runs: (n: number) => `${n} ${plural('en', n, 'run', 'runs')}`, change: 'Change this set-up',
  ground: 'Ground', groundGood: 'In order', groundBad: 'Not in order', groundNever: 'No check recorded yet.', checked: (when: string, who: string) => `${when}, ${who}`, checkGround: 'Check the ground',
  outputs: 'What the gun gives', noOutputs: 'No weigh test of this powder yet.', main: 'Main air', flow: 'Output', when: 'When',
  deposits: 'What stays on the parts', noDeposits: 'No weighed test of this powder yet.', te: 'First pass',
  cures: 'Oven', noCures: 'No curve in this run yet.', cure: (above: string, from: string) => `${above} at ${from} or above`, asked: (m: string) => `${m} asked`, peak: (t: string) => `peak ${t}`,
  verdicts: { cure_good: 'long enough', cure_under: 'too short', cure_over: 'too long' } as Table,
  bestFlow: 'Find the best flow', advice: 'Advice for a fault on the part',
  climate: 'Climate', noClimate: 'Nothing read yet.', wholeStore: 'The whole store', readClimate: 'Read the climate',
};

export const today = {
  title: 'Today', under: 'Colours to come, in the order that cleans least', plan: 'Plan a job', none: 'No job planned.', noneHint: 'Plan jobs with their powder and day; the order of colours follows.',
  both: 'All booths', now: (name: string) => `${name} is in the gun`, nothing: 'Nothing is in the gun', minutes: (n: number) => `${n} min of cleaning in all`, noChange: 'no change', step: (level: string, n: number) => `${level}, about ${n} min`,
  due: (d: string) => `due ${d}`, overdue: 'overdue', noDue: 'no day', done: (n: number, of: number) => `${n} of ${of}`, need: 'needs', stock: 'in stock', short: 'not enough', begin: 'Change to this colour', complete: 'Complete',
  why: 'By the day they are due; colours of one day in the order that takes the fewest minutes of cleaning.',
};
