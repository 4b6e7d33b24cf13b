// The page's calls, each handed to whoever answers it.

import type {
  Boot,
  CalcInfo,
  Core,
  Event,
  Invite,
  Me,
  PhoneInfo,
  Prefs,
  Recorded,
  RecordHow,
  SetUpForm,
  SignInBy,
  TextKind,
} from '../bridge/api';
import type { Account } from './account';
import type { Answers } from './answers';
import type { Choices } from './choices';
import type { CoreHost } from './core';
import type { Doorbell } from './doorbell';
import type { News } from './news';
import type { Recording } from './recording';
import type { RunningCore } from './running-core';
import type { Seats } from './seats';
import type { DraftOf, Shelf } from './shelf';

export interface CallsPorts {
  core: RunningCore;
  sums: CoreHost; // the calculations; started when somebody asks for one
  answers: Answers;
  recording: Recording;
  news: News;
  choices: Choices;
  seats: Seats;
  account: Account;
  doorbell: Doorbell;
  shelf: Pick<Shelf, 'saveDraft' | 'draft' | 'savePrefs'>;
  known: Promise<unknown>; // the store has been read
  device: () => string; // the phone's id; known once the store has been read
  version: string;
}

// Calls is the page's Core as far as it asks for an answer. A record comes with the id
// of its request, by which the same one is known again.
export type Calls = Omit<Core, 'onChange' | 'syncNow' | 'updateStuck' | 'onHeld' | 'record'> & {
  record: (
    task: string,
    form: Record<string, string>,
    why: string,
    request: string,
    how?: RecordHow,
  ) => Promise<Recorded>;
};

export function callsOf(p: CallsPorts): Calls {
  const { core, answers, recording, seats, account, doorbell, shelf } = p;
  const draftOf = (key: string): DraftOf => ({ person: seats.holder, key });

  // sums works something out; the calculations know nothing of the books.
  async function sums(op: string, args: object = {}): Promise<unknown> {
    if (!p.sums.isRunning) await p.sums.start();
    return p.sums.call(op, args).json;
  }

  async function boot(): Promise<Boot> {
    await p.known;
    const { isSignedIn } = seats.session;
    const [shop, door] = await Promise.all([
      answers.view('shop', {}),
      isSignedIn ? { needsSetUp: false, left: [] } : doorbell.ring(),
    ]);
    return {
      person: seats.session.person,
      shop: shop.name === '' ? null : shop,
      prefs: p.choices.filled(shop.units),
      device: p.device(),
      version: p.version,
      needsSetUp: door?.needsSetUp ?? null,
      left: door?.left ?? [],
      storage: p.news.storage,
    };
  }

  async function enter(path: '/api/v1/session' | '/api/v1/setup', form: object): Promise<Boot> {
    await core.ready;
    const seats = path === '/api/v1/session' ? { seats: p.seats.ids } : {};
    await account.enter(path, { ...form, ...seats, device: p.device(), app_version: p.version });
    return boot();
  }

  async function setPrefs(prefs: Partial<Prefs>): Promise<void> {
    await core.ready;
    p.choices.add(prefs);
    answers.outdate();
    await shelf.savePrefs(p.choices.chosen);
    await core.run('style', p.choices.style());
    p.news.publish();
  }

  return {
    boot,
    setPrefs,
    view: (name, params) => answers.view(name, params),
    older: (name, params) => answers.older(name, params),
    plan: (task, form) => recording.plan(task, form),
    record: (task, form, why, request, how) => recording.record(task, form, why, request, how),
    calc: (name, input) => sums('calc', { name, params: input }),
    calcs: async () => (await sums('calcs')) as CalcInfo[],
    text: async (kind: TextKind, value: number) => (await core.run('text', { kind, value })) as string,
    signIn: (by: SignInBy) => enter('/api/v1/session', by),
    setUp: (form: SetUpForm) => enter('/api/v1/setup', form),
    signOut: async () => {
      await core.ready;
      await account.signOut();
    },
    swap: async (person, pin) => {
      await core.ready;
      const { moment } = seats;
      await seats.swap(person, pin);
      if (moment !== '') void account.close(moment).catch(() => undefined); // it takes its entries along
      return boot();
    },
    setPin: async (pin, old) => {
      await core.ready;
      await seats.setPin(pin, old);
    },
    takeOff: async (person) => {
      await core.ready;
      await account.takeOff(person, p.device());
    },
    handIn: async (person) => {
      await core.ready;
      await seats.handIn(person);
    },
    invite: (person) => account.ask<Invite>('POST', `/people/${encodeURIComponent(person)}/invite`, {}),
    signOutAll: async (person) => {
      await account.ask('POST', `/people/${encodeURIComponent(person)}/sign-out`, {});
    },
    setPassphrase: async (old, fresh) => {
      await account.ask('POST', '/me/passphrase', {
        ...(old === '' ? {} : { old }),
        new: fresh,
        sign_out_others: false,
      });
    },
    me: () => account.ask<Me>('GET', '/me'),
    phones: async () => (await account.ask<{ phones: PhoneInfo[] }>('GET', '/phones')).phones,
    namePhone: async (device, name) => {
      await account.ask('POST', `/phones/${encodeURIComponent(device)}/name`, name === '' ? {} : { name });
    },
    revokePhone: async (device, isBack) => {
      await account.ask('POST', `/phones/${encodeURIComponent(device)}/${isBack ? 'restore' : 'revoke'}`, {});
    },
    events: async () => (await account.ask<{ events: Event[] }>('GET', '/events')).events,
    saveDraft: (key, form, by) =>
      shelf.saveDraft({ ...draftOf(key), ...(by === undefined ? {} : { person: by }) }, form),
    draft: async (key) => {
      await p.known;
      return shelf.draft(draftOf(key));
    },
    exportUnsent: async () => {
      await core.ready;
      return new TextDecoder().decode(core.call('unsent').blobs[0]);
    },
  };
}
