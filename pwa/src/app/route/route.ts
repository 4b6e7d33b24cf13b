// Where the person is, as the part of the address after '#'. Parsing and printing
// are inverse: parse(href(r)) is r again.

import type { BoothId, EntryId, LotId, PersonId, PlaceId, PowderId, RunId } from './ids';

// Behind says whose entries to list.
export type Behind =
  | { by: 'place'; id: PlaceId }
  | { by: 'run'; id: RunId }
  | { by: 'lot'; id: LotId }
  | { by: 'powder'; id: PowderId }
  | { by: 'entry'; id: EntryId }
  | { by: 'all'; id: '' };

export type Section = 'booth' | 'room' | 'today' | 'office' | 'sums';

export type Route =
  | { at: 'start' }
  | { at: 'booth'; booth: BoothId | '' }
  | { at: 'gun'; booth: BoothId | '' }
  | { at: 'today'; booth: BoothId | '' }
  | { at: 'room' }
  | { at: 'office' }
  | { at: 'sums' }
  | { at: 'sum'; name: string }
  | { at: 'do'; task: string; with: Readonly<Record<string, string>> }
  | { at: 'place'; id: PlaceId }
  | { at: 'lot'; id: LotId }
  | { at: 'powder'; id: PowderId }
  | { at: 'run'; id: RunId }
  | { at: 'trace'; by: 'lot' | 'job' | 'run' | ''; id: string }
  | { at: 'entry'; id: EntryId }
  | { at: 'entries'; behind: Behind }
  | { at: 'attention' }
  | { at: 'people' }
  | { at: 'person'; id: PersonId }
  | { at: 'settings' }
  | { at: 'status' }
  | { at: 'check' }
  | { at: 'who' }
  | { at: 'pin' }
  | { at: 'passphrase' }
  | { at: 'phones' }
  | { at: 'record' }
  | { at: 'first' }
  | { at: 'safety' }
  | { at: 'sign-in'; code: string }
  | { at: 'set-up'; code: string };

const enc = encodeURIComponent;

// href prints a route as it stands in a link, '#' included.
export function href(r: Route): string {
  switch (r.at) {
    case 'start':
      return '#/';
    case 'booth':
      return r.booth === '' ? '#/booth' : `#/booth/${enc(r.booth)}`;
    case 'gun':
    case 'today':
      return r.booth === '' ? `#/${r.at}` : `#/${r.at}/${enc(r.booth)}`;
    case 'sum':
      return `#/sums/${enc(r.name)}`;
    case 'do': {
      const q = Object.entries(r.with)
        .map(([k, v]) => `${enc(k)}=${enc(v)}`)
        .join('&');
      return `#/do/${enc(r.task)}${q === '' ? '' : '?' + q}`;
    }
    case 'place':
    case 'lot':
    case 'powder':
    case 'run':
    case 'entry':
    case 'person':
      return `#/${r.at}/${enc(r.id)}`;
    case 'trace':
      return r.by === '' ? '#/trace' : `#/trace/${r.by}/${enc(r.id)}`;
    case 'entries':
      return r.behind.by === 'all' ? '#/entries' : `#/entries/${r.behind.by}/${enc(r.behind.id)}`;
    case 'sign-in':
      return r.code === '' ? '#/sign-in' : `#in=${enc(r.code)}`;
    case 'set-up':
      return `#setup=${enc(r.code)}`;
    case 'room':
    case 'office':
    case 'sums':
    case 'attention':
    case 'people':
    case 'settings':
    case 'status':
    case 'check':
    case 'safety':
    case 'who':
    case 'pin':
    case 'passphrase':
    case 'phones':
    case 'record':
    case 'first':
      return `#/${r.at}`;
  }
}

// parse reads what stands after '#'; whatever it does not know is the start.
export function parse(hash: string): Route {
  const text = hash.startsWith('#') ? hash.slice(1) : hash;
  const code = /^(in|setup)=(.+)$/.exec(text);
  if (code) return { at: code[1] === 'in' ? 'sign-in' : 'set-up', code: decode(code[2] ?? '') };
  const [path = '', query = ''] = text.replace(/^\//, '').split('?', 2);
  const [head = '', second = '', third = ''] = path.split('/').map(decode);
  switch (head) {
    case 'booth':
    case 'gun':
    case 'today':
      return { at: head, booth: second };
    case 'room':
    case 'office':
    case 'attention':
    case 'people':
    case 'settings':
    case 'status':
    case 'check':
    case 'safety':
    case 'who':
    case 'pin':
    case 'passphrase':
    case 'phones':
    case 'record':
    case 'first':
      return { at: head };
    case 'sums':
      return second === '' ? { at: 'sums' } : { at: 'sum', name: second };
    case 'do':
      return second === '' ? { at: 'start' } : { at: 'do', task: second, with: pairs(query) };
    case 'place':
    case 'lot':
    case 'powder':
    case 'run':
    case 'entry':
    case 'person':
      return second === '' ? { at: 'start' } : { at: head, id: second };
    case 'trace':
      return (second === 'lot' || second === 'job' || second === 'run') && third !== ''
        ? { at: 'trace', by: second, id: third }
        : { at: 'trace', by: '', id: '' };
    case 'entries':
      return { at: 'entries', behind: behind(second, third) };
    case 'sign-in':
      return { at: 'sign-in', code: '' };
    default:
      return { at: 'start' };
  }
}

function behind(by: string, id: string): Behind {
  switch (by) {
    case 'place':
    case 'run':
    case 'lot':
    case 'powder':
    case 'entry':
      return { by, id };
    default:
      return { by: 'all', id: '' };
  }
}

function pairs(query: string): Record<string, string> {
  const out: Record<string, string> = {};
  for (const part of query.split('&')) {
    const [k = '', v = ''] = part.split('=', 2);
    if (k !== '') out[decode(k)] = decode(v);
  }
  return out;
}

// decode keeps a text that is not well encoded as it stands.
function decode(s: string): string {
  try {
    return decodeURIComponent(s);
  } catch {
    return s;
  }
}

// sectionOf says which of the five tabs a route lies under; null for none.
export function sectionOf(r: Route): Section | null {
  switch (r.at) {
    case 'booth':
    case 'gun':
      return 'booth';
    case 'today':
      return 'today';
    case 'room':
    case 'lot':
    case 'powder':
    case 'place':
      return 'room';
    case 'office':
    case 'run':
    case 'trace':
    case 'people':
    case 'person':
    case 'phones':
    case 'record':
    case 'first':
    case 'settings':
    case 'attention':
    case 'entries':
    case 'entry':
      return 'office';
    case 'sums':
    case 'sum':
      return 'sums';
    case 'start':
    case 'do':
    case 'status':
    case 'check':
    case 'who':
    case 'pin':
    case 'passphrase':
    case 'safety':
    case 'sign-in':
    case 'set-up':
      return null;
  }
}
