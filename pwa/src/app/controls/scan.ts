// What a hand scanner types besides the text of a label: the identifier of the kind of
// code in front (]C1, ]d2, ]Q3; ISO/IEC 15424), separators between its parts (GS and
// other control characters), and Enter. None of it belongs into a field.

const identifier = '\\][A-Za-z][0-9A-Za-z]';
const first = new RegExp(`^${identifier}`),
  last = new RegExp(`${identifier}$`),
  any = new RegExp(identifier, 'g');
const ahead = /^[\u0000-\u001f\u007f-\u009f]+/;
const control = /[\u0000-\u001f\u007f-\u009f]+/g,
  controlButLines = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f]+/g;

// How a text came: by hand, by keys too quick for a hand, or whole in one go.
export type Way = 'typed' | 'quick' | 'pasted';

// textOf is what a person means by a text. A separator becomes a space, so that the
// parts of a label do not run together.
export function textOf(text: string, way: Way, isLong = false): string {
  const plain = way === 'pasted' ? text.replace(any, '') : way === 'quick' ? text.replace(last, '') : text;
  return plain
    .replace(first, '')
    .replace(isLong ? /^$/ : ahead, '')
    .replace(isLong ? controlButLines : control, ' ');
}

const quickMs = 150; // three keys within this time are a scanner's

type Typed = HTMLInputElement | HTMLTextAreaElement;

let last3: { input: HTMLElement; at: readonly number[] } | null = null; // when the last keys came

// cleanText reads an input that has just changed, and rids it of what a scanner added.
// was is what stood there before.
export function cleanText(input: Typed, was: string, isLong = false): string {
  const now = performance.now(),
    at = [...(last3?.input === input ? last3.at : []).slice(-2), now];
  last3 = { input, at };
  const isQuick = at.length === 3 && now - (at[0] ?? 0) < quickMs;
  const way = input.value.length > was.length + 1 ? 'pasted' : isQuick ? 'quick' : 'typed';
  const text = textOf(input.value, way, isLong);
  if (text !== input.value) input.value = text;
  return text;
}

// onEnter leads from field to field with the key that a scanner sends after each label:
// in a form that records something it means "next" and never "save". It goes on the
// form's keydown.
export function onEnter(e: KeyboardEvent): void {
  const field = e.target;
  if (e.key !== 'Enter' || e.isComposing) return;
  if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) return;
  e.preventDefault();
  if (isListOpen(field)) {
    field.value += ' '; // begins the next reading
    field.dispatchEvent(new Event('input', { bubbles: true }));
    return;
  }
  const fields = [...(field.form?.querySelectorAll<HTMLElement>('input, select, textarea') ?? [])];
  const next = fields
    .slice(fields.indexOf(field) + 1)
    .find((f) => f.checkVisibility?.() !== false && !isSameGroup(f, field));
  if (next === undefined) field.blur();
  else next.focus();
}

// isListOpen tells whether a field holds a list of readings whose last one has just been
// typed. After a space nothing was typed: the list is at its end.
function isListOpen(field: HTMLInputElement | HTMLSelectElement): boolean {
  return field.dataset['list'] === 'readings' && /[^\s;]$/.test(field.value);
}

// isSameGroup tells whether two inputs are choices of one field.
function isSameGroup(a: HTMLElement, b: HTMLElement): boolean {
  if (!(a instanceof HTMLInputElement && b instanceof HTMLInputElement)) return false;
  return a.type === 'radio' && a.name === b.name && a.name !== '';
}
