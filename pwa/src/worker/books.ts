// The worker's heart: store, core, session and driver put together. Its parts each do
// one thing (the page's calls, views, recording, news …); here is what turns on all of
// them: the start, who is here, and what comes from outside.

import type { Status } from '../bridge/api';
import type { Reading } from '../shared/clock';
import { Account, type Door } from './account';
import { Answers } from './answers';
import { type Calls, callsOf } from './calls';
import { Choices } from './choices';
import type { CoreAnswer, CoreHost } from './core';
import { Doorbell } from './doorbell';
import { apart, Driver } from './driver';
import type { Effect } from './effects';
import type { Leader } from './leader';
import type { Live } from './live';
import { Moment } from './moment';
import type { Net } from './net';
import { News } from './news';
import { Prices } from './prices';
import { Reader } from './reader';
import { Recording } from './recording';
import { rehearse } from './rehearsal';
import { RunningCore } from './running-core';
import { Saving } from './saving';
import { isTooMuch } from './scope';
import { momentOf, Seats, without } from './seats';
import { sendOff } from './send-off';
import type { Tokens } from './session';
import type { Contents, Shelf } from './shelf';
import type { Told } from './windows';

const prolongMs = 4_000; // for the server's answer

export interface BooksPorts {
  host: CoreHost;
  sums: CoreHost; // the calculations; started when somebody asks for one
  shelf: Shelf;
  net: Net;
  tokens: Tokens;
  live: Live;
  leader: Leader;
  core: string; // address of the core: a saved state is good only for the same one
  version: string;
  language: string; // of the browser
  clock: () => Reading;
  newDevice: () => string;
  noise: (bytes: number) => Uint8Array;
  tell: (message: Told) => void; // to the other windows
  show: (status: Status) => void;
  report: (what: string) => void;
}

export class Books {
  readonly #p: BooksPorts;
  readonly #seats: Seats;
  readonly #choices: Choices;
  readonly #core: RunningCore;
  readonly #reader: Reader;
  readonly #news: News;
  readonly #answers: Answers;
  readonly #saving: Saving;
  readonly #doorbell: Doorbell;
  readonly #account: Account;
  readonly #moment: Moment;
  readonly #prices: Prices;
  readonly calls: Calls; // of the page
  #driver: Driver | null = null; // of the core that runs now
  #device = '';
  #skewMs = 0;
  #isVisible = true;
  #holder: string | undefined; // the person whom the core knows
  #stuck = ''; // the file for which an update could not be installed

  constructor(ports: BooksPorts) {
    this.#p = ports;
    const { host, shelf, net, tokens, leader, tell, report } = ports;
    const wallMs = () => ports.clock().wall_ms,
      monoMs = () => ports.clock().mono_ms;
    const isMoving = () => this.#driver?.isMoving === true,
      stored = () => tell({ type: 'stored' });
    const read = () => shelf.read(ports.newDevice);
    const contents = read()
      .then((c) => this.#onlyLiving(c, read))
      .then((c) => {
        this.#know(c);
        return c;
      });

    const known = contents.then(() => undefined); // who waits for the contents does not hold on to them
    const choices = (this.#choices = new Choices(ports.language));
    const seats = (this.#seats = new Seats({ shelf, now: wallMs, noise: ports.noise, changed: () => this.#seated() }));
    const account = (this.#account = new Account(net, tokens, seats, (person) =>
      sendOff({ shelf, news, now: monoMs, sync: () => this.syncNow() }, person),
    ));
    const moment = (this.#moment = new Moment({
      clock: ports.clock,
      token: (person) => tokens.of(person),
      prolong: (person) => {
        void tokens.refresh(person, prolongMs);
      },
      end: (person) => this.#end(person),
      tell,
    }));
    const doorbell = (this.#doorbell = new Doorbell({
      ask: () => this.#knock(),
      isNeeded: () => this.#isVisible && !seats.isAnybody,
      changed: () => news.publish(),
      later: (run, ms) => setTimeout(run, ms),
    }));
    const core = (this.#core = new RunningCore(
      { host, read, open: (c) => this.#open(c), gone: () => this.#letGo(), monoMs, report },
      contents,
    ));
    this.#prices = new Prices({ core, shelf, seats, read, report });
    const reader = (this.#reader = new Reader({
      core,
      shelf,
      grown: () => news.publish(),
      renewed: () => this.#renewed(),
      unreadable: () => this.#driver?.step({ type: 'outside' }),
      report,
    }));
    const news = (this.#news = new News({
      core,
      leader,
      seats,
      doorbell,
      shelf,
      isMoving,
      monoMs,
      show: ports.show,
      tell,
    }));
    const answers = (this.#answers = new Answers({
      core,
      reader,
      seats,
      tokens,
      choices,
      known,
      serverMs: () => wallMs() + this.#skewMs,
    }));
    this.#saving = new Saving({
      core,
      shelf,
      answers,
      program: ports.core,
      eyes: () => this.#eyes(),
      isLeader: () => leader.isLeader,
      isMoving,
      noise: ports.noise,
    });
    const recording = new Recording({
      core,
      reader,
      news,
      seats,
      shelf,
      wallMs,
      stored,
      took: (out) => this.#carryOut(out),
      unsure: () => this.#driver?.step({ type: 'unsure' }),
      recorded: () => this.#recorded(),
      mayGoOn: () => moment.look(),
    });
    this.calls = callsOf({
      core,
      sums: ports.sums,
      answers,
      recording,
      news,
      choices,
      seats,
      account,
      doorbell,
      shelf,
      known,
      device: () => this.#device,
      version: ports.version,
    });

    tokens.told = {
      fresh: (person) => {
        seats.renew(person).catch(() => undefined);
      },
      over: (person) => seats.over(person),
      moment: (person, access) => moment.granted(person, access),
    };
    tokens.listed = () => seats.ids;
    net.contact = () => this.#contact();
    core.ready.then(() => shelf.probe()).catch(() => news.storeFails());
    core.ready.catch((e: unknown) => report('start failed: ' + String(e)));
  }

  // onlyLiving ends a session for the moment that no window knows any more: the app was
  // closed. Nothing is shown before.
  async #onlyLiving(c: Contents, read: () => Promise<Contents>): Promise<Contents> {
    const person = momentOf(c);
    if (person === '' || (await this.#moment.lives(person))) return c;
    await this.#p.shelf.changeSeats((at) => ({ ...at, ...without(person)(at) }));
    this.#p.tell({ type: 'session' });
    return read();
  }

  // know takes what needs no core from the contents. The answers of the last time are
  // good only if nothing has happened since, and for the same eyes.
  #know(c: Contents): void {
    this.#device = c.device;
    this.#holder = c.session.person?.id;
    this.#seats.know(c);
    this.#choices.know(c.prefs);
    this.#skewMs = c.skewMs;
    this.#news.synced(c.syncedMs);
    this.#p.net.server = c.session.server;
    const f = c.fold;
    const isFresh =
      f !== null &&
      f.core === this.#p.core &&
      f.at.n >= c.counter &&
      f.at.cursor.epoch === c.cursor.epoch &&
      f.at.cursor.after === c.cursor.after;
    if (isFresh && f.who === this.#eyes() && !isTooMuch(c, c.base, c.cursor)) this.#answers.early(f.views);
  }

  // eyes is for whom answers are made, and how they are printed.
  #eyes(): string {
    const { person } = this.#seats.session;
    return JSON.stringify([person?.id, person?.role, this.#choices.style().lang, this.#choices.chosen.units]);
  }

  // open gives the store's contents to a fresh core. With a saved state the books are
  // ready at once and the entries follow in the background; without one they are read
  // first, because empty books would be a lie.
  async #open(found: Contents): Promise<void> {
    const p = this.#p;
    const c = await this.#prices.before(found);
    const { session } = this.#seats; // as of now: the contents may be of a moment ago
    const fold = c.fold !== null && c.fold.core === p.core ? c.fold : null;
    const { rows, blobs } = apart(c.own);
    const driver = this.#newDriver();
    const out = this.#core.call(
      'open',
      {
        open: {
          device: c.device,
          person: session.person ?? {},
          ...this.#choices.style(),
          cursor: c.cursor,
          base: c.base,
          proof: c.proof,
          counter: c.counter,
          server: session.server,
          signed_in: this.#seats.isAnybody,
          skew_ms: c.skewMs,
          ...(fold === null ? {} : { saved: fold.at }),
        },
        has_snapshot: fold !== null,
        rows,
      },
      fold === null ? blobs : [fold.bytes, ...blobs],
    );
    this.#driver?.off();
    this.#driver = driver;
    this.#carryOut(out);
    this.#wants();
    driver.step({ type: 'visible', yes: this.#isVisible });
    if (p.leader.isLeader) driver.step({ type: 'leads', yes: true });
    this.#news.publish();
    if (fold !== null) void this.#reader.catchUp();
    else await this.#reader.read();
    if (c.cursor.epoch === '' && !this.#seats.isAnybody) void rehearse(this.#core, () => this.#seats.isAnybody);
  }

  #newDriver(): Driver {
    const p = this.#p;
    return new Driver({
      core: this.#core.call,
      shelf: p.shelf,
      net: p.net,
      tokens: p.tokens,
      seats: this.#seats,
      live: p.live,
      wallMs: () => p.clock().wall_ms,
      changed: (isAllSent) => this.#news.publish(isAllSent === true ? 'sent' : 'some'),
      stored: () => p.tell({ type: 'stored' }),
      pulled: () => this.#pulled(),
      skew: (ms) => this.#skew(ms),
      upkeep: (news) => this.#news.upkeep(news),
      isShut: (isShut) => {
        this.#seats.shut(isShut).catch(() => undefined);
      },
      late: () => {
        void this.#driver?.reread();
      },
      greeted: () => {
        void this.#account.endRest();
      },
      notify: (code, detail) => p.report(`${code} ${detail}`),
      broke: (e) => this.#core.broke(e),
    });
  }

  #carryOut(out: CoreAnswer): void {
    this.#driver?.carryOut(out.json as Effect[], out.blobs);
  }

  // letGo ends what served a core that is gone.
  #letGo(): void {
    this.#driver?.off();
    this.#driver = null;
  }

  // wants tells the sync what this phone may hold.
  #wants(): void {
    const scope = this.#prices.follow();
    if (this.#seats.isAnybody) this.#driver?.step({ type: 'wants', scope });
  }

  #pulled(): void {
    this.#answers.outdate();
    this.#saving.soon();
    void this.#reader.catchUp();
  }

  #renewed(): void {
    this.#answers.outdate();
    this.#news.publish();
    this.#saving.soon();
  }

  #recorded(): void {
    this.#answers.outdate();
    this.#news.publish('recorded');
    this.#saving.soon();
  }

  #skew(ms: number): void {
    if (Math.abs(ms - this.#skewMs) < 500) return;
    this.#skewMs = ms;
    this.#core.call('skew', { skew_ms: ms });
    this.#p.shelf.saveSkew(ms).catch(() => undefined);
  }

  // seated follows a change of who is here, made in this window.
  #seated(): void {
    const was = this.#holder;
    this.#holder = this.#seats.session.person?.id;
    this.#adopt(was);
    this.#p.tell({ type: 'session' });
  }

  // adopt makes what the seats say the present state of core and sync.
  #adopt(was: string | undefined): void {
    const { session } = this.#seats;
    this.#holder = session.person?.id;
    this.#moment.follow(this.#seats.moment);
    this.#p.net.server = session.server;
    this.#news.leaderSays(null);
    this.#answers.outdate();
    if (!this.#core.isRunning) return; // the next core is opened with the person
    this.#core.call('person', { person: session.person ?? {} });
    this.#wants();
    this.#ring();
    if (!this.#seats.isAnybody) this.#driver?.step({ type: 'signed_out' });
    else if (was === session.person?.id && session.person !== null) this.#driver?.step({ type: 'seats' });
    else this.#driver?.step({ type: 'signed_in', server: session.server });
    this.#news.publish();
  }

  // end puts the phone down; the rest of the end takes a moment.
  async #end(person: string): Promise<void> {
    await this.#seats.putDown(person);
    this.#account.close(person).catch((e: unknown) => this.#p.report('a session is not over: ' + String(e)));
  }

  // knock asks at the server's door, and tells it who left meanwhile.
  async #knock(): Promise<Door | null> {
    const door = await this.#account.door();
    if (door !== null) void this.#account.endRest();
    return door;
  }

  // ring asks for the server where nobody is signed in, and so nobody syncs.
  #ring(): void {
    if (!this.#seats.isAnybody) void this.#doorbell.ring();
  }

  // contact is what the list of phones shows of this one.
  #contact(): string {
    const now = this.#p.clock();
    const stuck = this.#stuck === '' ? '' : `, stuck=${this.#stuck}`;
    return `unsent=${this.#news.unsent}, app=${this.#p.version}, wall=${now.wall_ms}, segment=${now.segment}${stuck}`;
  }

  // From outside: the server's stream, the page's visibility, the other windows,
  // leadership.

  stream(signal: AbortSignal): Promise<ReadableStream<Uint8Array> | null> {
    return this.#p.tokens.stream(this.#seats.carrier(), signal);
  }

  setVisible(isVisible: boolean): void {
    this.#isVisible = isVisible;
    this.#p.leader.setVisible(isVisible);
    this.#driver?.step({ type: 'visible', yes: isVisible });
    if (isVisible) void this.#moment.look();
    if (!isVisible) this.#saving.now();
    else if (this.#core.isRunning) this.#ring();
  }

  touched(): void {
    this.#moment.touched(true);
  }

  syncNow(): void {
    this.#ring();
    this.#driver?.step({ type: 'sync_now' });
    if (!this.#p.leader.isLeader) this.#p.tell({ type: 'stored' });
  }

  // updateStuck has the server told with the next request, which is now.
  updateStuck(file: string): void {
    if (file === this.#stuck) return;
    this.#stuck = file;
    this.syncNow();
  }

  leads(isLeader: boolean): void {
    this.#driver?.step({ type: 'leads', yes: isLeader });
    this.#news.publish();
  }

  async heard(message: Told): Promise<void> {
    switch (message.type) {
      case 'beat':
        this.#p.leader.heard();
        return;
      case 'status':
        this.#news.leaderSays(message);
        this.#news.publish();
        return;
      case 'moment':
        this.#p.tokens.takeMoment(message.person, message.access);
        this.#moment.heard(message.person);
        return;
      case 'moment?':
        this.#moment.share();
        return;
      case 'touched':
        this.#moment.touched(false);
        return;
      case 'stored':
        await this.#core.ready;
        await this.#driver?.reread();
        await this.#reader.catchUp();
        this.#saving.soon();
        return;
      case 'session': {
        await this.#core.ready;
        const was = this.#seats.session.person?.id;
        this.#seats.know(await this.#p.shelf.reread());
        this.#adopt(was);
        return;
      }
      default:
        message satisfies never;
    }
  }

  // sleep lets go of everything that a sleeping page must not hold; wake takes it up. A
  // session for the moment is over unless another window goes on with it.
  sleep(): void {
    this.#p.tokens.forget(this.#seats.moment);
    this.#moment.follow('');
    this.#p.leader.stop();
    this.#p.live.close();
    this.#p.shelf.close();
  }

  wake(): void {
    this.#p.leader.start();
    void this.heard({ type: 'stored' });
    void this.#wakeMoment(this.#seats.moment);
  }

  async #wakeMoment(person: string): Promise<void> {
    if (person !== '' && !(await this.#moment.lives(person))) await this.#account.close(person);
  }
}
