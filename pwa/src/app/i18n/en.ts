// English. The shape of this object is the shape of every dictionary.

import { plural } from './plural';
import { gun, today } from './gun.en';
import { staff } from './staff.en';

type Table = Readonly<Record<string, string>>;

const levels = { purge: 'Purge', blowdown: 'Blow-down', full: 'Full clean', strip: 'Strip-down' };
const placeKinds = { shelf: 'Shelf', vessel: 'Vessel', scrap: 'Scrap' };
const chemistries = { epoxy: 'Epoxy', hybrid: 'Hybrid', polyester: 'Polyester', polyurethane: 'Polyurethane', acrylic: 'Acrylic', fluoropolymer: 'Fluoropolymer', other: 'Other' };
const finishes = { gloss: 'Gloss', satin: 'Satin', matt: 'Matt', texture: 'Texture', metallic: 'Metallic', clear: 'Clear' };

export const en = {
  sections: { booth: 'Booth', room: 'Powder room', today: 'Today', office: 'Office', sums: 'Sums' },
  sectionsName: 'Sections',
  staff, gun, today,
  skip: 'To the content',
  opening: 'Opening the books…',
  reading: 'Reading the books…',
  back: 'Back', goBack: 'Go back', edit: 'Change', find: 'Find', copy: 'Copy', copied: 'Copied', more: 'More', none: 'none', yes: 'yes', no: 'no',
  optional: '(if known)', choose: 'Choose…', actions: 'What to do', language: 'Language', date: 'Day', place: 'Place', powder: 'Powder', mass: 'Mass', share: 'Share',
  before: 'Before', after: 'After', lots: 'Lots', vessels: 'Vessels', shelves: 'Shelves', scrapPlaces: 'Scrap', runs: 'Runs', changes: 'Colour changes', people: 'People',
  save: 'Save on this phone', saving: 'Saving…', savedHere: 'Saved on this phone', saveAnyway: 'Save with this reason',
  restored: 'What you had begun is back.', startAfresh: 'Start afresh',
  warnedTitle: 'Before you go on', whyAsk: 'Why is it done all the same?', whyOwn: 'Another reason, in your own words',
  whys: ['Job is urgent', 'Test panel was good', 'No other powder here', 'Agreed with the manager', 'Colour does not matter here'] as readonly string[],
  reasonsFor: {
    scrap: ['Purged', 'Contaminated', 'Swept from the floor', 'Expired', 'Too fine'], hold: ['Test panel failed', 'Wet or lumpy', 'Damaged box', 'Maker’s notice'],
    release: ['Test panel was good', 'Maker’s answer', 'Held by mistake'], void: ['Wrong figure', 'Wrong place', 'Entered twice', 'Did not happen'],
  } as Readonly<Record<string, readonly string[]>>,
  readings: (n: number) => `${n} ${plural('en', n, 'reading', 'readings')}.`,
  less: (what: string) => `${what}: one less`, oneMore: (what: string) => `${what}: one more`, andMore: (n: number) => `and ${n} more`,
  pad: { title: 'Keypad', open: 'Open the keypad', erase: 'Take the last digit away', keyboard: 'Use the phone’s keyboard', mark: 'Decimal point', sign: 'Above or below zero', unit: 'Unit', next: 'next', done: 'Done' },
  levels, placeKinds, chemistries, finishes,
  grounds: { yes: 'In order', no: 'Not in order' },
  levelNotes: { purge: 'gun and hose blown through', blowdown: 'booth, gun and pump blown down too', full: 'every surface; hoses and pump apart; hopper, sieve, recovery', strip: 'filters or cartridges out as well' } as Table,
  modes: { waste: 'Spray to waste', collect: 'Collect reclaim', loop: 'Closed loop' },
  modeNotes: { waste: 'overspray is scrap', collect: 'overspray goes into a bin and is weighed', loop: 'overspray returns straight to the hopper' } as Table,
  roles: { coater: 'Coater', clerk: 'Powder room', manager: 'Manager' },
  unitSystems: { metric: 'kg, µm, m²', us: 'lb, mil, ft²' },
  languages: { en: 'English', es: 'Español' },
  checks: { gun: 'Gun', hoses: 'Hoses', pump: 'Pump', booth: 'Booth walls and floor', hopper: 'Hopper', sieve: 'Sieve', filters: 'Filters', grounded: 'Ground checked' } as Table,
  lotStates: { usable: 'usable', soon: 'expires soon', expired: 'expired', held: 'on hold', gone: 'used up' } as Table,
  entryStates: { phone: 'on this phone', sent: 'sent', held: 'held', admitted: 'accepted', declined: 'declined', refused: 'refused' },
  voided: 'voided', voidedWhy: 'Voided because', late: 'late', gone: 'left the shop', heldWhy: 'On hold because',
  passes: (n: number) => (n === 0 ? 'virgin' : `${n} ${plural('en', n, 'pass', 'passes')}`),
  crew: (n: number) => `${n} ${plural('en', n, 'person', 'people')}`,
  turn: (n: number) => (n === 1 ? 'Use first' : `Use in turn ${n}`), noTurn: 'Not to be used', useFirst: 'use first', useBy: (d: string) => `use by ${d}`,
  vessel: {
    empty: 'empty', lot: 'Lot', passesHead: 'Passes', ratio: 'Virgin to reclaim', limit: 'Limit of reclaim', over: 'over the limit', mixed: 'two powders', unsieved: 'holds reclaim that was not sieved',
    virgin: 'Virgin', reclaim: 'Reclaim', inside: 'What is in it', of: (c: string) => `of ${c}`, weighed: (t: string) => `weighed ${t}`,
  },
  noPowder: 'No powder', several: 'Several powders', noFeed: 'Nothing feeds the gun yet. Start with a colour change.', noFeedNow: 'Nothing feeds the gun while the colour changes.', beside: 'Beside the booth', recent: 'Recent entries', noEntries: 'Nothing recorded yet.',
  lastClean: (level: string, when: string, who: string) => `Last cleaned: ${level}, ${when}, ${who}`,
  arriving: 'The books are on their way', arrivingOnline: 'This phone is fetching them from the server; it takes a moment.', arrivingOffline: 'This phone has no books yet and no network to fetch them.',
  noBooth: 'No booth yet', noBoothManager: 'Set up a booth, its hopper and a powder; then recording can begin.', noBoothOther: 'A manager sets up booths, places and powders in the office.',
  actionNames: {
    'change.start': 'Change colour', 'change.finish': 'Finish change', charge: 'Charge hopper', weigh: 'Weigh', recover: 'Recover', clean: 'Clean', parts: 'Parts done', film: 'Film', scrap: 'Scrap',
    receive: 'Receive', partbox: 'Weigh box', move: 'Move', 'run.close': 'Close run', cure: 'Oven',
  } as Table,
  tasks: {
    'change.start': 'Change colour', 'change.finish': 'Finish the colour change', charge: 'Charge a hopper', weigh: 'Weigh', recover: 'Recovered powder', scrap: 'To scrap', move: 'Move powder', clean: 'Cleaned',
    parts: 'Parts done', film: 'Film readings', 'run.close': 'Close the run', receive: 'Receive a lot', partbox: 'Weigh a part box', hold: 'Put on hold', release: 'Release', void: 'Void', note: 'Add a note',
    ground: 'Check the ground', climate: 'Climate of the store', output: 'Weigh what the gun gives', deposit: 'Weigh what stays on the parts', cure: 'Curve of the oven', plan: 'Plan a job', 'set.setup': 'Set-up of the gun',
    admit: 'Accept', decline: 'Decline', 'set.powder': 'Powder', 'set.place': 'Place', 'set.booth': 'Booth', 'set.person': 'Person', 'set.shop': 'Shop',
  } as Table,
  taskUnder: {
    recover: 'Overspray collected and weighed', scrap: 'It leaves the books as scrap', 'run.close': 'Weigh the feed first: the balance rests on it', void: 'The entry stays in sight and no longer counts',
    ground: 'Gun off and high voltage off before you touch the part', output: 'Bagged and weighed, high voltage off', deposit: 'Parts weighed before and after, uncured', cure: 'Temperature of the part on its way through', plan: 'A job of the same name is planned anew', climate: 'Where the powder lies',
    admit: 'The entry counts from now on', decline: 'The entry stays in sight and does not count', film: 'Dry film, one reading after the other', partbox: 'What is left of a lot on a shelf',
  } as Table,
  taskButtons: { 'change.start': 'Start the change', 'change.finish': 'Change is done', void: 'Void it', hold: 'Put on hold', release: 'Release', admit: 'Accept it', decline: 'Decline it', 'run.close': 'Close the run' } as Table,
  fields: {
    booth: 'Booth', powder: 'Powder', level: 'Cleaning level', crew: 'People at work', minutes: 'Minutes', feed: 'Which vessel feeds the gun?', mode: 'What happens to the overspray?', purged: 'Purged powder', scrap: 'Scrap place',
    checks: 'Cleaned and checked', first_part: 'First part', to: 'Into', lot: 'Lot', shelf: 'Shelf', virgin: 'How much virgin?', bin: 'From which bin?', reclaim: 'How much reclaim?', place: 'What is weighed?', mass: 'How much?',
    temp: 'Temperature', rh: 'Humidity, %', main: 'Main air', extra: 'Extra air', seconds: 'In how many seconds?', flow: 'Output in a minute', ok: 'Is the ground in order?', ohm: 'Resistance to ground, Ω', points: 'Minute and temperature, line by line', due: 'Due', parts: 'Kind of part', kv: 'Voltage, kV', ua: 'Current limit, µA', distance: 'Distance to the part', nozzle: 'Nozzle', charging: 'Charging', worked: 'It worked', setup: 'Set-up of the gun', cure_temp: 'Cure: temperature of the part', cure_min: 'Cure: least minutes', cure_max: 'Cure: most minutes',
    'output:mass': 'What was caught?', 'climate:place': 'On which shelf?', 'deposit:te': 'Stayed on the parts, %',
    gross: 'Weighed with the container', run: 'Run', sieved: 'Sieved', from: 'Out of', why: 'Why?', job: 'Job', count: 'How many parts?', area: 'Area of one part', coats: 'Coats', spots: 'Readings', batch: 'Batch on the label',
    packs: 'Boxes', pack_mass: 'Mass of one box', made: 'Made on', use_by: 'Use by', price: 'Price per kg', text: 'Note', name: 'Name', code: 'Code', maker: 'Maker', chemistry: 'Chemistry', finish: 'Finish', sg: 'Specific gravity',
    film_min: 'Film, least', film_target: 'Film, target', film_max: 'Film, most', reclaim_max: 'Most reclaim, %', passes_max: 'Most passes', shelf_months: 'Shelf life, months', lead_days: 'Days from order to shelf', box: 'Comes in boxes of', lab: 'Colour L* a* b*', kind: 'Kind', tare: 'Empty weight',
    capacity: 'Holds at most', exhaust: 'Exhaust air, m³/h', guns: 'Guns at once', store_max: 'Store at most', mec: 'Explosible from, g/m³', te: 'Transfer efficiency, %', recovery: 'Overspray recovered, %', role: 'Role', gone: 'Has left the shop', zone: 'Time zone', units: 'Units', currency: 'Currency', lang: 'Language of the shop',
    'receive:mass': 'Net mass of all boxes', 'receive:place': 'Onto which shelf?', 'partbox:place': 'Which shelf?', 'recover:to': 'Into which bin?', 'charge:to': 'Which vessel?', 'weigh:mass': 'What does the scale say?', 'partbox:mass': 'What does the scale say?',
    'set.place:booth': 'Stands at booth', 'scrap:to': 'Which scrap place?', 'clean:level': 'How far was it cleaned?', 'weigh:lot': 'Which lot?',
  } as Table,
  hints: {
    points: 'As 0 20, then 10 180, then 20 182.', ohm: 'From hook or part to ground; above 1 000 000 Ω it does not count as grounded.', 'climate:place': 'Left empty it is the whole store.', 'deposit:te': 'Gain of the parts as a share of what left the gun.', cure_min: 'At that temperature or above, by the data sheet.', parts: 'As open faces, or inside corners.', worked: 'Switch it off when it did not.', seconds: 'A minute unless you say otherwise.',
    spots: 'Type a reading, then “next”.', lab: 'Three figures, as 83.2 -0.5 4.1. They draw the powder and decide the cleaning level.', reclaim_max: 'By the powder maker’s data sheet.', sg: 'From the data sheet, as 1.45.',
    'recover:gross': 'The scale showed the bin with what was in it before.', 'partbox:gross': 'The container’s weight is taken off.', 'set.person:gone': 'No sign-in any more; the entries stay.', te: 'First pass, as measured; needed for closed loop.', zone: 'As Europe/Madrid or America/Chicago.',
    'receive:mass': 'Or boxes and the mass of one.', currency: 'Three letters, as EUR or USD.',
  } as Table,
  tareIs: (t: string) => `${t} is taken off`,
  diff: {
    title: 'Difference to the books', books: 'Books', weighed: 'Weighed', difference: 'Difference',
    meanings: { same: 'The books agree.', sprayed: 'It counts as sprayed by the run.', missing: 'It is missing and shown as such until an entry explains it.', found: 'More than the books hold: it is added and shown until explained.' } as Table,
  },
  charge: {
    virgin: 'Virgin, from a lot', reclaim: 'Reclaim, from a bin', noBins: 'No bin holds reclaim of this powder.', best: 'Best blend', gives: 'gives', take: 'Use this blend', taken: 'Taken over',
    overBy: (m: string) => `${m} too much reclaim in it`, dilute: (m: string) => `${m} virgin would bring it down.`,
  },
  change: {
    next: 'Which powder comes next?', now: 'in the gun now', needTitle: 'Cleaning needed', noNeed: 'None', needed: 'needed', learned: (n: number, rule: number) => `from ${n} ${plural('en', n, 'change', 'changes')} here and the rule’s ${rule} min`, expect: (min: number, n: number) => `about ${min} min with ${n} ${plural('en', n, 'person', 'people')}`,
    running: 'Colour change running', finish: 'Finish', since: (t: string) => `since ${t}`, minutesHint: 'From the start until now; correct it if need be.', firstOk: 'Good', firstNo: 'Specks or marks', below: 'below the rule',
  },
  balance: {
    gross: 'Sprayed, gross', grossShort: 'out of the gun', net: 'Sprayed, net', on_parts: 'On parts', recovered: 'Recovered', scrapped: 'Scrapped', lost: 'Lost', te: 'Transfer efficiency', teShort: 'TE', use: 'Utilisation',
  } as { gross: string; grossShort: string; net: string; on_parts: string; recovered: string; scrapped: string; lost: string; te: string; teShort: string; use: string },
  balanceTitle: 'Where the powder went', figures: 'Figures', estimated: 'estimated',
  run: {
    open: 'running', closed: 'closed', since: 'since', jobs: 'Jobs', job: 'Job', count: 'Parts', area: 'Area', noJobs: 'No parts recorded yet.', lots: 'On the parts, by lot', noLots: 'Known once the feed was weighed.',
    film: (mean: string, min: string, max: string, n: number) => `Film ${mean} (${min} to ${max}, ${n} ${plural('en', n, 'reading', 'readings')})`,
  },
  flow: { received: 'Received', found: 'Found', shelves: 'On shelves', vessels: 'In vessels', scrap: 'Scrap', parts: 'On parts', lost: 'Lost', open: 'In open runs', missing: 'Missing' } as Table,
  flowTitle: 'Where all powder is', flowNote: 'Both sides agree to the milligram.', entryCount: (n: number) => `${n} ${plural('en', n, 'entry', 'entries')}`,
  stock: { shelf: 'On shelves, usable', shelfShort: 'on shelves', total: 'Total', vessels: 'Virgin in vessels', blocked: 'Blocked', now: 'In stock', received: 'Received' },
  use: {
    perDay: 'Used per day', over: (days: number) => `over ${days} days`, lasts: 'Lasts', days: (n: number) => `${n} ${plural('en', n, 'day', 'days')}`, point: 'Order when down to', order: 'Order now', boxes: (n: number) => `${n} ${plural('en', n, 'box', 'boxes')}`,
    cp: 'Cp', cpk: 'Cpk', interval: (low: string, high: string) => `95 %: ${low} to ${high}`, sd: 'Film, deviation',
  },
  stockTitle: 'Stock', noStock: 'No powder received yet.', noLots: 'No lot of this powder here.', noRuns: 'No run yet.', noChanges: 'No colour change yet.',
  attention: 'Needs attention', allWell: 'Nothing needs attention.',
  entry: 'Entry', entries: 'Entries', allEntries: 'All entries', aboutThis: 'About this entry', entriesBehind: 'Entries behind these figures',
  behindWhat: { place: 'of this place', run: 'of this run', lot: 'of this lot', powder: 'of this powder', entry: 'about this entry', all: 'newest first' },
  older: {
    cut: (since: string) => `Not complete: what happened before ${since} is not on this phone.`, asking: 'The server is being asked.', notLoaded: 'Not loaded from the server.', again: 'Try again',
    unsent: (n: number) => `As the server has it, without ${n} ${plural('en', n, 'entry', 'entries')} of this phone that ${plural('en', n, 'is', 'are')} not sent yet.`,
    runs: (since: string) => `Runs closed before ${since} are not on this phone. Trace a lot or a job to see them.`, newest: (n: number) => `The newest ${n} entries.`,
  },
  trace: 'Trace a lot or a job', traceUnder: 'Which lot went on which parts', traceLot: 'Which parts carry this lot', traceByLot: 'A lot', traceByJob: 'A job', traceRuns: 'Runs', traceNoRuns: 'On no parts so far.', traceOnParts: 'Of this lot, on parts',
  recall: {
    title: 'Recall sheet', print: 'Print or save as PDF', run: 'Recall sheet of this run', unknown: 'Unknown lot', unknownHint: 'Powder that the books lacked: nobody knows its lot.', from: 'Show shares from, %', fromHint: 'Smaller ones are added up as the rest.', onlyJob: 'On one job alone', anyJob: 'All jobs',
    where: 'Where all of this lot is', places: 'Where it is now', noPlaces: 'In no place any more.', lots: 'Lots on these parts', rest: (n: number) => `Rest: ${n} ${plural('en', n, 'row', 'rows')} below the share`, of: (all: string) => `of ${all} on these parts`,
    printed: (when: string, who: string) => `Printed ${when} by ${who}`, above: (share: string) => `Listed: shares from ${share}; smaller ones stand under Rest.`, all: 'Listed: every share, however small.', note: 'Worked out from the books: in a vessel powder counts as well mixed. Shares of the parts rest on area and film where powder on parts was not weighed.', exact: 'to the mg, in g', sign: 'Checked by', date: 'Date', signature: 'Signature', day: 'Day', booth: 'Booth', runs: 'Parts',
    book: { received: 'Received', found: 'Found', on_parts: 'On parts', lost: 'Lost', open: 'In open runs', here: 'In the shop', scrapped: 'Scrapped', missing: 'Missing', past: 'In earlier runs' },
    warm: (days: number, highest: string, limit: string, by: string) => `${days} warm ${plural('en', days, 'day', 'days')}, up to ${highest} (limit ${limit}): estimated good through ${by}. The maker decides.`,
  },
  addPerson: 'Add a person', invite: 'Sign-in link', inviteLink: 'Sign-in link', inviteFor: (who: string, until: string) => `For ${who}. Works once, until ${until}. Send it in a way only they read.`,
  settings: {
    title: 'Set up the shop', managerOnly: 'A manager changes powders, booths and the shop.', powders: 'Powders', places: 'Places', booths: 'Booths', shop: 'Shop', none: 'None yet.', addPowder: 'Add a powder', addPlace: 'Add a place', addBooth: 'Add a booth',
  },
  backup: { last: (when: string) => `Last backup ${when}`, never: 'No backup was ever made', failed: 'The last backup failed' },
  status: {
    title: 'This phone', nobody: 'Nobody is signed in', sending: 'Sending', unsent: 'Not sent yet', oldest: (a: string) => `oldest ${a}`, server: 'Server', online: { yes: 'answers', no: 'no answer', unknown: 'not asked yet' }, lastSync: 'Last exchange', never: 'never',
    storage: 'Storage', storages: { ok: 'works', failing: 'FAILS', none: 'none' }, sendNow: 'Try now', trying: 'Trying…', export: 'Copy unsent entries to a file', keepHint: 'Entries stay on this phone until the server has them in a checked backup.',
    look: 'Language, units, light', theme: 'Light', themes: { auto: 'As the phone', light: 'Bright', dark: 'Dark' }, app: 'App', signOut: 'Sign out', signOutHint: 'Signing out keeps every entry on this phone.',
  },
  plainHttp: {
    title: 'Phones need HTTPS',
    why: 'This address is plain HTTP. There a browser lets no app keep work on the phone or open without a network, so the app does not start. Nothing was recorded here, so nothing is lost.',
    ways: 'Whoever runs the server gets HTTPS in one of three ways, and gives you the new address:',
    how: [
      ['serve --https local', 'For a network of your own, with the internet or without. The server leads each phone through trusting it once.'],
      ['serve --https acme --domain NAME', 'For a public name whose port 443 leads to the server. Nothing is to do on the phones.'],
      ['serve --proxied --domain NAME', 'Behind a proxy that does HTTPS.'],
    ] as readonly (readonly [string, string])[],
    here: 'On the server’s own machine the app also works at',
  },
  check: {
    title: 'Check this phone', under: 'Can it do a shift without a network?', looking: 'Looking…', again: 'Check again', ask: 'Ask the browser to keep it', reload: 'Load again now',
    hint: 'Run this where the phone opens the shop every day: the app of the home screen and a browser tab are two different stores.',
    whole: { good: 'This phone is ready to work without a network', fair: 'This phone works without a network, with drawbacks', bad: 'This phone cannot work without a network yet', todo: 'So far so good: try airplane mode' },
    grades: { good: 'good', fair: 'with a drawback', bad: 'not possible', todo: 'to do' },
    names: { secure: 'Secure address', worker: 'Opens without a network', storage: 'Storage', wasm: 'Calculates on the phone', persist: 'Storage is kept', installed: 'On the home screen', camera: 'Camera', airplane: 'Airplane mode' },
    found: {
      'secure.yes': 'The phone trusts the server.', 'secure.no': 'This address is not HTTPS, or the phone does not trust it. Whoever runs the server knows the page that leads through trusting it: port 8380, /trust/.',
      'worker.rules': 'The app is on the phone and opens by itself.', 'worker.ready': 'The app is on the phone. Load the page once more and it opens by itself.',
      'worker.none': 'The app is not on the phone yet. Stay on this page for a minute with the network on, then check again. If it stays so, the phone does not trust the server’s certificate.', 'worker.unsupported': 'This browser cannot keep the app. Use Safari or Chrome, not a private window, at the HTTPS address.',
      'storage.works': 'Written, read back and deleted.', 'storage.fails': 'The phone could not store. Is it full, or is this a private window?', 'storage.unsupported': 'This browser has no storage. Use Safari or Chrome, and no private window.',
      'wasm.yes': 'It can.', 'wasm.no': 'WebAssembly is switched off. On an iPhone, Lockdown Mode does that: exclude this site in its settings.',
      'persist.granted': 'The browser promised not to clear it.', 'persist.refused': 'The browser may clear it when space runs short. Putting the app on the home screen usually changes that; sending often helps too.', 'persist.unsupported': 'This browser makes no promise. Send often.',
      'installed.yes': 'Opened by its icon.', 'installed.no': 'This is a browser tab. Put it on the home screen and open it there: Safari clears what a tab stored after a week without use.',
      'camera.there': 'There is one for scanning labels.', 'camera.none': 'None found. Labels can be typed.', 'camera.unsupported': 'This address may not use a camera. Labels can be typed.',
      'airplane.todo': 'Switch airplane mode on, wait until the network is gone, then tap the button. If the browser shows an error page instead of this one, the phone is not ready: switch airplane mode off, load again, check again.',
      'airplane.works': 'It loaded without a network. Switch airplane mode off again.', 'airplane.network': 'The server answered, so the network was still on. Switch airplane mode on and Wi-Fi off, then tap again.', 'airplane.fails': 'It loaded, but not from the phone. Switch airplane mode off, load again, check again.',
    } as Table,
  },
  strip: {
    sent: 'All sent', overdue: 'Take this phone to the network', unsent: (n: number) => `${n} not sent yet`, oldest: (a: string) => `oldest ${a}`, offline: 'No network', offlineNothing: 'No network: recording goes on', asking: 'Looking for the server', answers: 'The server answers', away: 'The server does not answer',
    notSaved: 'NOT saved: storage fails', serverFull: 'Server’s disk is full: recording goes on', newerNeeded: 'Update needed to send', sessionEnded: 'Sign in again; recording goes on', update: 'New version ready: update', updateNow: 'Update now', attention: (n: number) => `${n} need attention`,
  },
  signIn: {
    title: 'Sign in', byCode: 'Your link brings the code along.', enter: 'Sign in', busy: 'One moment…', or: 'or', name: 'Your name', passphrase: 'Passphrase', help: 'No passphrase? A manager can send you a sign-in link.',
    offline: 'No network. You need it once, to sign in; after that everything works without.', kept: (n: number) => `${n} ${plural('en', n, 'entry is', 'entries are')} kept on this phone and will be sent after signing in.`,
    moved: 'This shop was reached at another address before. If this phone was used there, what it has not sent yet is still there: open that address, wait for “All sent”, then sign in here. If it does not open, ask whoever runs the server to serve it there once more.',
    needsSetUp: 'This shop is not set up yet. Open the link that the server shows in its window.',
  },
  setUp: { title: 'A new shop', lead: 'This is done once. Everything can be changed later in the office.', shop: 'The shop', shopName: 'Name of the shop', shopLang: 'Language of the shop', you: 'You, the manager', passHint: 'At least ten characters; a few words are good.', again: 'Passphrase once more', go: 'Set the shop up' },
  sums: {
    all: 'All sums', under: 'Calculations of the trade, with their sources', inputs: 'Given', result: 'Result', source: 'Source', clear: 'Clear', example: 'Example', incomplete: 'Fill in what is missing and the result stands here.', spaced: 'several, parted by spaces', addRow: 'One more', dropRow: 'One less',
    groups: { reclaim: 'Reclaim', coating: 'Film and parts', booth: 'Booth', stock: 'Stock', gun: 'Gun', reconcile: 'Weighings' } as Table,
  },
  kindUnknown: 'Entry of a newer version',
  kinds: {
    'shop.set': 'Shop set up', 'powder.set': 'Powder set up', 'booth.set': 'Booth set up', 'place.set': 'Place set up', 'person.set': 'Person set up', 'setup.set': 'Gun set-up', 'lot.received': 'Lot received', 'lot.held': 'Lot put on hold',
    'lot.released': 'Lot released', 'powder.moved': 'Powder moved', 'powder.recovered': 'Powder recovered', 'place.weighed': 'Weighed', 'change.started': 'Colour change started', 'change.finished': 'Colour change done', 'booth.cleaned': 'Cleaned',
    'run.opened': 'Run opened', 'parts.coated': 'Parts done', 'film.read': 'Film read', 'run.closed': 'Run closed', 'output.tested': 'Output tested', 'deposit.tested': 'Deposit tested', 'cure.read': 'Cure read', 'room.read': 'Room read',
    'ground.checked': 'Ground checked', 'job.planned': 'Job planned', 'entry.voided': 'Entry voided', 'entry.noted': 'Note', 'entry.released': 'Held entry accepted', 'entry.declined': 'Held entry declined', 'books.closed': 'Books closed',
  } as Table,
  facts: {
    ok: 'In order', due: 'Due', points: 'Curve', ohm: 'Resistance to ground', temp_dc: 'Temperature', rh_pm: 'Humidity', main_kpa: 'Main air', extra_kpa: 'Extra air', mg_per_min: 'Output', kv: 'Voltage', ua: 'Current limit', distance_mm: 'Distance to the part', cure_dc: 'Cure temperature', cure_s: 'Cure, least', cure_max_s: 'Cure, most', name: 'Name', zone: 'Time zone', units: 'Units', currency: 'Currency', lang: 'Language', powder: 'Powder', maker: 'Maker', code: 'Code', chemistry: 'Chemistry', finish: 'Finish', sg_milli: 'Specific gravity', lab: 'L* a* b*', 'film_um10.min': 'Film, least',
    'film_um10.target': 'Film, target', 'film_um10.max': 'Film, most', reclaim_max_pm: 'Most reclaim', passes_max: 'Most passes', shelf_months: 'Shelf life, months', store_max_dc: 'Store at most', price: 'Price per kg', mec_mg_m3: 'Explosible from, mg/m³', lead_days: 'Days from order to shelf', box_mg: 'Comes in boxes of',
    booth: 'Booth', exhaust_m3h: 'Exhaust air', guns: 'Guns at once', te_pm: 'Transfer efficiency', recovery_pm: 'Recovered', place: 'Place', kind: 'Kind', tare_mg: 'Empty weight', capacity_mg: 'Holds at most', person: 'Person', role: 'Role', gone: 'Left', lot: 'Lot', batch: 'Batch',
    mass_mg: 'Mass', packs: 'Boxes', made: 'Made on', use_by: 'Use by', why: 'Why', from: 'Out of', to: 'Into', sieved: 'Sieved', sd_mg: 'Uncertainty', level: 'Level', crew: 'People', checks: 'Checked', first_part: 'First part', minutes: 'Minutes', feed: 'Feed',
    mode: 'Overspray', job: 'Job', count: 'Parts', area_cm2: 'Area of one part', coats: 'Coats', spots: 'Readings', text: 'Note', setup: 'Set-up', parts: 'Kind of part', charging: 'Charging', nozzle: 'Nozzle', worked: 'Worked', through: 'Up to',
  } as Table,
  cautions: {
    title: 'Safety', short: 'This tool informs; it does not certify. Cautions',
    change: ['Gun off, high voltage off, before you reach in.', 'Phone stays out of the marked booth area unless rated for it.'],
    clean: ['Lock out and let the air clear before cleaning.', 'Respirator and gloves by the powder’s safety sheet. Check the ground after.'],
    lead: 'hoppertally counts powder and reminds. It does not approve a booth, a process or a part. What follows is common practice, not a substitute for the rules that bind you.',
    full: [
      ['Phone and booth', 'Keep phones and tablets that are not rated for it out of the classified area of the booth. Record outside it.'],
      ['Grounding', 'Parts, hooks, people, booth and equipment are grounded while powder is charged. Check it; a poor ground costs powder and can spark.'],
      ['Dust in the air', 'Keep the powder in the air below half of its minimum explosible concentration. Never spray with the exhaust off; do not let layers gather on ledges.'],
      ['Before cleaning', 'Switch off high voltage, spraying and conveyors and lock them out. Let the air clear. Use no compressed air where it stirs powder up towards a source of ignition.'],
      ['Body', 'Respirator, eye and skin protection by the powder’s safety data sheet. No food or drink where powder lies.'],
      ['Waste', 'Scrap powder goes into closed, grounded, marked drums, away from heat.'],
      ['Who decides', 'Local codes, the authority having jurisdiction, the instructions of equipment and powder makers, and licensed practice come first.'],
    ] as readonly (readonly [string, string])[],
    last: 'Figures that rest on estimates say so. When a figure and your eyes disagree, stop and look.',
  },
};

export type Words = typeof en;
