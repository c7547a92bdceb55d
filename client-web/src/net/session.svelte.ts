//! What this page knows: who the device is, the link, the view, the taps on their way. The only door between the
//! screens and the network. It never decides anything about the code: it keeps what came and sends what was tapped.
import { LINK_GRACE_MS } from '../model/hands';
import { doseOnTheClock, type ToldDose } from '../model/prior';
import { repeats, type Taken } from '../model/slips';
import { doneKeys, newer, seenOf, withoutDone, withTicks } from '../model/tasks';
import type {
  Battery,
  CodeSummary,
  DeviceInfo,
  Event,
  PriorCare,
  Record as TimelineRecord,
  RosterEntry,
  ServerMessage,
  ViewMessage,
} from '../wire/generated';
import type { AxisSample } from '../sound/beats';
import { forget, keep, noteLetIn, recall, wasLetIn, type KeptStore } from '../offline/kept';
import { watchBattery } from './battery';
import { PageClock } from './clock';
import * as http from './http';
import { Link } from './link';
import { TapQueue, type Store, type Tap } from './queue';
import { newId } from './uuid';

/** Every tap can be undone for this long. */
export const UNDO_MS = 5000;
/** How long a refusal or a clock correction stays on the screen. */
const NEWS_MS = 8000;
/** While the link is up, what is kept for a start without the server is never older than this. */
const KEEP_MS = 5000;
/** A server that has not answered by then may not: the page starts with what was last known. */
const ANSWER_MS = 1500;
/** Screens are drawn when code time passes a multiple of this, at the very frame at which it does. */
const STEP_MS = 100;

/** A tap that can still be undone. */
export interface Undoable {
  id: string;
  event: Event;
  until_ms: number;
}

/** Something to tell once. */
export interface News {
  kind: 'refused' | 'clock';
  event?: Event;
  /** The named reason of a refusal. */
  reason?: string;
  message: string;
  from_ms?: number;
  to_ms?: number;
  until_ms: number;
}

class Session {
  device = $state.raw<DeviceInfo | null>(null);
  /** `unknown` until the server has said whether this device is paired. */
  pairing = $state<'unknown' | 'paired' | 'unpaired'>('unknown');
  /** Whether it is known by now which page this device wants: its code's, or the start page. */
  settled = $state(false);
  linked = $state(false);
  /** Whether the link was ever up on this page. */
  everLinked = $state(false);
  /** performance.now() of the loss. */
  lost_at_ms = $state<number | null>(null);
  codes = $state.raw<CodeSummary[]>([]);
  view = $state.raw<ViewMessage | null>(null);
  roster = $state.raw<RosterEntry[]>([]);
  timeline = $state.raw<TimelineRecord[]>([]);
  taps = $state.raw<readonly Tap[]>([]);
  undoable = $state.raw<Undoable | null>(null);
  news = $state.raw<News | null>(null);
  protocols = $state.raw<http.ProtocolChoice[]>([]);
  /** Code time, drawn in steps of a tenth of a second. */
  now_ms = $state(0);
  /** performance.now(), in the same steps. */
  frame_ms = $state(0);
  clockSure = $state(false);

  /** The code that this device is leaving, until the server says that it is out. */
  leaving = $state<string | null>(null);

  readonly #clock = new PageClock();
  readonly #queue: TapQueue;
  readonly #link: Link;
  /** The last tap that was taken: its double is none. */
  #taken: Taken | null = null;
  #battery: Battery | null = null;
  #kept_ms = 0;
  #left = '';
  /** The record that says so. */
  #leave: string | null = null;
  #toldDose: (ToldDose & { recorded_ms: number }) | null = null;

  constructor() {
    this.#queue = new TapQueue(storage());
    this.taps = this.#queue.taps;
    this.#link = new Link({
      message: (message, running_ms) => this.#take(message, running_ms),
      up: () => this.#up(),
      down: (running_ms) => {
        this.linked = false;
        this.lost_at_ms = running_ms;
      },
      shut: () => void this.learnWho(),
      clock: () => this.#clock.local_ms(),
    });
  }

  /** Begins: who am I, then the link, then the frames. */
  start(): void {
    const frame = (): void => {
      this.#frame();
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') this.#wake();
    });
    window.addEventListener('pageshow', (event) => {
      if (event.persisted) this.#wake();
    });
    document.addEventListener('resume', () => this.#wake());
    void watchBattery((battery) => {
      this.#battery = battery;
      if (this.linked) this.#link.send({ type: 'battery', ...battery });
    });
    setTimeout(() => {
      this.#remember();
      this.settled = true;
    }, ANSWER_MS);
    // A device that was let in before does not wait to be told so again: its first task comes a round trip sooner.
    if (wasLetIn(storage())) this.#link.start();
    void this.learnWho();
  }

  /** Asks the server who this device is, and goes on asking until it answers. */
  async learnWho(): Promise<void> {
    try {
      const device = await http.whoAmI();
      this.device = device;
      this.pairing = device ? 'paired' : 'unpaired';
      noteLetIn(storage(), device !== null);
      if (device) {
        this.#link.start();
        if (this.protocols.length === 0) this.protocols = await http.protocols();
      } else {
        this.#link.stop();
        this.#clearCode();
      }
    } catch {
      this.#remember();
      // No answer: if this browser was let in before, the link keeps looking by itself.
      if (this.pairing !== 'paired') setTimeout(() => void this.learnWho(), 500);
    }
  }

  /**
   * Puts an event on the record. `at_ms` is given only for a fact of an earlier time, or `ago_ms` for one of so long ago. The
   * same event again within a moment is a double tap, and stays the one that it was.
   */
  tap(event: Event, options: { at_ms?: number; ago_ms?: number; undo?: boolean } = {}): string | null {
    const view = this.view;
    if (!view) return null;
    const taken_ms = performance.now();
    if (this.#taken && repeats(event, this.#taken, taken_ms)) return this.#taken.id;
    const now = this.#clock.code(view.code, view.epoch_ms);
    const tap: Tap = {
      id: newId(),
      code: view.code,
      at_ms: Math.round(options.at_ms ?? now.ms - (options.ago_ms ?? 0)),
      clock_error_ms: Math.ceil(now.error_ms),
      event,
      does: doneKeys(event, this.prompts()),
      seen: seenOf(view),
      server_ms: this.#clock.server()?.ms ?? 0,
      sent: false,
    };
    this.#queue.add(tap);
    this.#send(tap);
    this.taps = this.#queue.taps;
    this.#taken = { id: tap.id, event, taken_ms };
    if (options.undo !== false && event.kind !== 'voided') {
      this.undoable = { id: tap.id, event, until_ms: performance.now() + UNDO_MS };
    }
    return tap.id;
  }

  /** A record for a code that this device is not in yet: its own role, to join with. */
  tapInto(code: string, event: Event, epoch_ms: number | null): string {
    const now = this.#clock.code(code, epoch_ms);
    const tap: Tap = {
      id: newId(),
      code,
      at_ms: Math.max(0, Math.round(now.ms)),
      clock_error_ms: Math.ceil(now.error_ms),
      event,
      does: [],
      seen: '',
      server_ms: this.#clock.server()?.ms ?? 0,
      sent: false,
    };
    this.#queue.add(tap);
    this.#send(tap);
    this.taps = this.#queue.taps;
    return tap.id;
  }

  /** Records care before arrival; a last dose so many minutes ago keeps its true time when the clock starts later. */
  tapPriorCare(care: PriorCare, minutes_ago: number | null): void {
    const view = this.view;
    if (!view) return;
    if (minutes_ago !== null) {
      const ago_ms = minutes_ago * 60_000;
      care.last_epinephrine_at_ms = Math.round(this.now_ms - ago_ms);
      const server_ms = this.#clock.server()?.ms;
      if (view.epoch_ms === null && server_ms !== undefined) {
        this.#toldDose = {
          code: view.code,
          given_server_ms: server_ms - ago_ms,
          recorded_ms: care.last_epinephrine_at_ms,
        };
      }
    }
    this.tap({ kind: 'prior_care_reported', ...care });
  }

  /** Takes the last tap back, on the record. */
  undo(reason: string): void {
    const undoable = this.undoable;
    if (!undoable) return;
    this.undoable = null;
    this.tap({ kind: 'voided', target: undoable.id, reason });
  }

  /** The view's prompts, without those that this device's own taps have done. */
  prompts(): ViewMessage['prompts'] {
    return this.view ? withoutDone(this.view, this.#queue.taps, this.linked) : [];
  }

  /** Real time since recognition by the synchronised clock; null while that is not known. */
  axis(): AxisSample | null {
    return this.view ? this.#clock.axis(this.view.epoch_ms) : null;
  }

  /** Server milliseconds in a real one: more than 1 in a demonstration only. */
  get rate(): number {
    return this.#clock.rate;
  }

  /** For how long the link has been lost; null while it is up. */
  lost_ms(): number | null {
    return this.linked || this.lost_at_ms === null ? null : Math.max(0, this.frame_ms - this.lost_at_ms);
  }

  /** A new id for a code. */
  id(): string {
    return newId();
  }

  /** Leaves a closed code's screen. */
  leave(): void {
    this.#left = this.view?.code ?? '';
    this.#clearCode();
  }

  /** Leaves a code that goes on; its screen goes at once, and comes back only if the server refuses. */
  leaveRunning(): void {
    const view = this.view;
    if (!view) return;
    this.#leave = this.tap({ kind: 'device_left' }, { undo: false });
    this.leaving = view.code;
  }

  /** Takes one message of the server. */
  #take(message: ServerMessage, running_ms: number): void {
    switch (message.type) {
      case 'welcome':
        this.#clock.setRate((message as { clock_rate?: number }).clock_rate);
        this.#clock.greeted(message.server_ms);
        this.device = message.device;
        this.#takeCodes(message.codes);
        // In a code its view comes next: the start page is not drawn only to be thrown away.
        this.settled ||= !message.codes.some((one) => one.joined && one.phase !== 'closed');
        break;
      case 'pong':
        this.#clock.answered(message.sent_ms, message.received_ms, message.replied_ms, running_ms);
        this.clockSure = this.#clock.sure;
        break;
      case 'recorded':
        this.#queue.answered(message.id);
        this.taps = this.#queue.taps;
        break;
      case 'refused': {
        const tap = message.id ? this.#queue.answered(message.id) : null;
        this.taps = this.#queue.taps;
        if (this.undoable && this.undoable.id === message.id) this.undoable = null;
        if (this.#leave !== null && this.#leave === message.id) this.leaving = null;
        this.news = {
          kind: 'refused',
          ...(tap ? { event: tap.event } : {}),
          reason: message.reason,
          message: message.message,
          until_ms: performance.now() + NEWS_MS,
        };
        break;
      }
      case 'view':
        this.#takeView(message);
        break;
      case 'codes':
        this.#takeCodes(message.codes);
        break;
      case 'roster':
        if (!this.view || message.code === this.view.code) this.roster = message.devices;
        break;
      case 'timeline':
        this.#takeTimeline(message.records, message.reset);
        break;
    }
  }

  /** Starts with what was last known, as old, where the server does not answer. It orders nothing: see the hands line. */
  #remember(): void {
    if (this.view || this.everLinked || this.pairing === 'unpaired') return;
    const kept = recall(storage(), Date.now());
    if (!kept || (this.device && this.device.id !== kept.device.id)) return;
    this.device = kept.device;
    this.#clock.setRate(kept.rate);
    this.#clock.remembered(kept.server_now_ms);
    this.lost_at_ms = performance.now() - Math.max(kept.age_ms, LINK_GRACE_MS);
    this.view = kept.view;
    this.#frame();
  }

  #keep(): void {
    const [device, view, server] = [this.device, this.view, this.#clock.server()];
    if (!device || !view || !server || !this.linked) return;
    this.#kept_ms = performance.now();
    keep(storage(), { device, view, server_ms: server.ms, wall_ms: Date.now(), rate: this.#clock.rate });
  }

  #takeView(view: ViewMessage): void {
    if (view.code === this.#left && view.phase === 'closed') return;
    if (!newer(view, this.view)) return;
    if (this.view && this.view.code !== view.code) this.#clearCode();
    this.view = { ...view, prompts: withTicks(view.prompts, view.at_ms) };
    this.settled = true;
    this.#frame();
    this.#keep();
    const told = this.#toldDose;
    if (told && view.epoch_ms !== null) {
      this.#toldDose = null;
      const at_ms = doseOnTheClock(told, view.code, view.epoch_ms, told.recorded_ms);
      if (at_ms !== null) this.tap({ kind: 'prior_care_reported', last_epinephrine_at_ms: at_ms });
    }
  }

  #takeCodes(codes: CodeSummary[]): void {
    this.codes = codes;
    const view = this.view;
    // Out of the code, or it is gone: the start page. A closed code stays on the screen until it is left.
    if (!view || view.phase === 'closed') return;
    const entry = codes.find((one) => one.id === view.code);
    if (!entry || (!entry.joined && entry.phase !== 'closed')) {
      this.leaving = null;
      this.#clearCode();
    }
  }

  #takeTimeline(records: TimelineRecord[], reset: boolean): void {
    const known = new Map((reset ? [] : this.timeline).map((one) => [one.id, one]));
    for (const record of records) known.set(record.id, record);
    this.timeline = [...known.values()].sort((one, other) => one.seq - other.seq);
  }

  #clearCode(): void {
    forget(storage());
    this.view = null;
    this.roster = [];
    this.timeline = [];
    this.undoable = null;
  }

  #up(): void {
    this.linked = true;
    this.everLinked = true;
    this.lost_at_ms = null;
    this.pairing = 'paired';
    if (this.#battery) this.#link.send({ type: 'battery', ...this.#battery });
    this.#queue.resend((tap) => this.#sendNow(tap), this.#clock.server()?.ms ?? 0);
    this.taps = this.#queue.taps;
  }

  #send(tap: Tap): void {
    this.#queue.send(tap, (one) => this.#sendNow(one), this.#clock.server()?.ms ?? 0);
  }

  #sendNow(tap: Tap): boolean {
    const { id, code, at_ms, clock_error_ms, event } = tap;
    return this.#link.send({ type: 'record', id, code, at_ms, clock_error_ms, event });
  }

  #wake(): void {
    this.#clock.doubt();
    this.clockSure = false;
    this.#link.wake();
    this.#link.burst();
  }

  #frame(): void {
    if (this.#clock.check()) {
      this.clockSure = false;
      this.#link.burst();
    }
    const running_ms = performance.now();
    const step = Math.floor(running_ms / STEP_MS) * STEP_MS;
    if (step !== this.frame_ms) this.frame_ms = step;
    const view = this.view;
    const now_ms = view ? this.#clock.code(view.code, view.epoch_ms).ms : 0;
    const shown_ms = Math.floor(now_ms / STEP_MS) * STEP_MS;
    if (shown_ms !== this.now_ms) this.now_ms = shown_ms;
    const jump = this.#clock.takeJump();
    if (jump && this.everLinked) {
      this.news = { kind: 'clock', message: '', ...jump, until_ms: running_ms + NEWS_MS };
    }
    if (running_ms - this.#kept_ms > KEEP_MS) this.#keep();
    if (this.undoable && running_ms >= this.undoable.until_ms) this.undoable = null;
    if (this.news && running_ms >= this.news.until_ms) this.news = null;
  }
}

function storage(): (Store & KeptStore) | null {
  try {
    return window.localStorage;
  } catch {
    return null;
  }
}

/** The page's session. */
export const session = new Session();
