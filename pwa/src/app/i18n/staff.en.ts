// English words about people, their phones and the first days of a shop.

import { plural } from './plural';

type Table = Readonly<Record<string, string>>;
const entries = (n: number) => `${n} ${plural('en', n, 'entry', 'entries')}`;

export const staff = {
  who: 'Who has the phone?', has: (name: string) => `${name} has the phone`, nobodyHas: 'Nobody has the phone now', hasPhone: 'has it', change: (name: string) => `${name} has the phone. Change over`,
  protects: 'What the PIN protects', whoHint: 'Names: each entry goes out under whoever has the phone. It does not lock the phone: whoever holds it can use it. A manager shuts a lost phone out.',
  several: 'A phone that several people use keeps no manager’s session. A manager signs in for the moment, by passphrase or link: until somebody else takes the phone, ten minutes pass without a tap, or the app is closed. What was recorded stays and goes out.',
  moment: 'for the moment', momentOf: (name: string) => `${name} is signed in for the moment: until somebody else takes the phone, ten minutes pass without a tap, or the app is closed.`, givesWay: (name: string) => `When somebody else signs in here, ${name} is signed out: a phone that several people use keeps no manager’s session.`,
  noManagersPin: 'A manager has no PIN: four digits protect no session. On a phone that several people use, sign in by passphrase or link.',
  takeOff: 'Take off this phone', takeOffAsk: (name: string) => `${name} is signed out here, and needs network and passphrase to come back. What they have not sent yet waits on this phone.`, takeOffGo: 'Take off', tookOff: (name: string) => `${name} is off this phone`,
  another: 'Another person signs in', mustSignIn: 'must sign in again', noPin: 'no PIN here', pinOf: (name: string) => `PIN of ${name}`, byPassphrase: 'By passphrase instead',
  pinFirst: 'You have no PIN on this phone. Without one you need network and your passphrase to take it back.',
  choosePin: 'Choose my PIN', changePin: 'Change my PIN', myPassphrase: 'My passphrase', pinTitle: 'My PIN on this phone',
  pinWhat: 'Four to six digits, for this phone only. They bring you back without network, so that each entry goes under the right name. They do not lock the phone. Do not use the PIN of your bank card.',
  pinNew: 'New PIN', pinAgain: 'The same once more', pinOld: 'Your PIN until now', pinSet: 'The PIN is kept on this phone',
  waitTitle: 'Waiting on this phone', waits: (n: number, name: string) => `${entries(n)} of ${name} cannot be sent yet.`, waitsNext: (name: string) => `They are safe here and go out when ${name} signs in; nobody else is held up.`,
  signsIn: (name: string) => `${name} signs in`, handIn: 'Hand in, to be held', handInHint: 'For somebody who left: the server keeps the entries as held until a manager has accepted or declined each.', handedIn: (name: string) => `Handing in what ${name} left`,
  record: 'Sign-ins', recordUnder: 'Sign-ins, refusals, changes to people and phones; the latest first', noRecord: 'Nothing happened yet.', recordBy: (name: string) => `by ${name}`,
  recordWhat: {
    setup: 'Shop set up', signed_in: 'Signed in', refused: 'Sign-in refused', invited: 'Link made', ended: 'Signed out', token_reused: 'A used session key came again: its session was ended', passphrase: 'New passphrase', person_set: 'Person changed',
    phone_revoked: 'Phone shut out', phone_restored: 'Phone let in again', phone_named: 'Phone renamed',
  } as Table,
  endings: { one: 'on one phone', all: 'on every phone', shared: 'somebody else uses the phone' } as Table,
  phone: (n: number) => `Phone ${n}`, phones: 'Phones', phonesUnder: 'Who uses them, and what they told at their last contact', noPhones: 'No phone yet.', thisPhone: 'this phone',
  kinds: { phone: 'Phone', tablet: 'Tablet', computer: 'Computer' } as Table,
  lastContact: 'Last contact', unsentThen: 'Unsent then', notTold: 'it did not say', stuck: (file: string) => `It could not load the new version whole: ${file}. A filter in its network may stop that file.`, clock: 'Clock', clocks: { right: 'right', off: 'a little off', wrong: 'WRONG', unknown: 'not known' },
  seen: (when: string) => `last contact ${when}`, nobodyOn: 'Nobody is signed in on it.', out: 'signed out', rename: 'Rename', renamed: 'Renamed', nameOf: 'Name of the phone', nameHint: 'As where it lies: Booth 1, Powder room.', keepName: 'Keep the name',
  shut: 'Shut this phone out', shutGo: 'Shut it out', shutAsk: (name: string) => `${name} gets nothing more from the server. Whoever has it can go on recording; what it hands in is held for you to accept or decline. For a lost phone, and for one that is sold.`,
  shutSelfAsk: 'This is the phone in your hand. It gets nothing more from the server, and what you record on it will be held.', isShut: (name: string) => `${name} is shut out`, shutOut: (when: string) => `shut out ${when}`,
  shutOutHint: 'What it hands in is held. Only a manager can sign in on it.', letBackIn: 'Let it back in', letIn: (name: string) => `${name} may sync again`,
  role: 'Role', changeRole: 'Change name or role', roleNotes: { coater: 'Works at the booths: colour changes, weighing, powder in and out, films, cleaning. Sees no prices.', clerk: 'Works in the powder room as well: receives lots, holds and releases them, sets up places.', manager: 'May do everything: people, phones, powders, booths, prices, held entries.' } as Table,
  wayIn: 'The way in', inviteWhat: (name: string) => `A link that signs ${name} in once. They then choose a passphrase of their own. It is also the way back for a forgotten passphrase.`, inviteAgain: 'Another link', qrLabel: (name: string) => `Sign-in code for ${name}, to be read by the camera of their phone`,
  localLink: 'This link works on this computer only. Open the shop by the address that phones use, and make the link there.',
  signedInOn: 'Signed in on', nowhere: 'On no phone at present.', signOutAll: 'Sign out everywhere', signOutGo: 'Sign out', signOutAsk: (name: string) => `${name} must sign in again on every phone. What is recorded meanwhile waits there, and nothing is lost.`,
  signOutSelfAsk: 'You must sign in again on every phone, this one included. Nothing is lost.', signedOut: (name: string) => `${name} is signed out everywhere`,
  passTitle: 'My passphrase', passFirst: 'Choose a passphrase of your own. It signs you in on any phone, with your name.', passChange: 'Choose another passphrase. It holds from now on, on every phone.', passOld: 'Passphrase until now', passNew: 'New passphrase', passGo: 'Keep it', passSet: 'Your passphrase is set',
  shutStrip: 'Phone shut out: entries are held', waitStrip: (n: number) => `${n} ${plural('en', n, 'waits', 'wait')} for a sign-in`, backTo: 'Who has the phone?',
  firstTitle: 'First steps', firstLead: 'Four steps, then work can begin. Everything can be changed later.', firstReady: 'Ready. Receive the first powder, then charge a hopper and start.', firstReceive: 'Receive the first lot', firstBooth: 'To the booth', soFar: (n: number) => (n === 0 ? 'none yet' : `${n} so far`),
  steps: {
    powders: { title: 'Powders', why: 'Colour, chemistry, finish and film, from the data sheet.', add: 'Add a powder' }, booths: { title: 'Booths', why: 'Where powder is sprayed.', add: 'Add a booth' },
    places: { title: 'Places', why: 'A shelf for boxes, a hopper at each booth; a reclaim bin and a scrap drum if you have them.', add: 'Add a place' }, people: { title: 'People', why: 'Each signs in under their own name; a link or a code on the screen lets them in.', add: 'Add a person' },
  },
  heldTitle: 'Held, for a manager', heldMine: 'Waits for a manager to accept or decline it.',
};
