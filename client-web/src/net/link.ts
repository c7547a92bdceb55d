//! The WebSocket's life: it opens at once, and after a failure only when `/healthz` has answered, since browsers make a page wait
//! longer and longer for a socket that failed. It gives signs of life each second, and calls a link dead after 4 s of silence. It
//! must not know what the messages mean.
import type { ClientMessage, ServerMessage } from '../wire/generated';

const POLL_MS = 500;
const PING_MS = 1000;
const SILENCE_MS = 4000;
const OPEN_MS = 3000;
/** Pings at the start, close together, so that the clock is known at once. */
const BURST = 5;
const BURST_GAP_MS = 60;

/** What the owner of the link is told, and what it is asked. */
export interface LinkOwner {
  /** A message came. `running_ms` is performance.now() on arrival. */
  message(message: ServerMessage, running_ms: number): void;
  /** The link came up. */
  up(): void;
  /** The link is lost, since `running_ms`. */
  down(running_ms: number): void;
  /** The server answers but does not let this device in. */
  shut(): void;
  /** The tablet's clock for an exchange. */
  clock(): number;
}

/** Keeps one link to the server that served this page. */
export class Link {
  #socket: WebSocket | null = null;
  #ready = false;
  #stopped = true;
  #heard_ms = 0;
  #timers: ReturnType<typeof setTimeout>[] = [];
  #beat: ReturnType<typeof setInterval> | null = null;
  #refusals = 0;

  constructor(private readonly owner: LinkOwner) {}

  /** Begins to look for the server. */
  start(): void {
    if (!this.#stopped) return;
    this.#stopped = false;
    this.#beat ??= setInterval(() => this.#tick(), PING_MS);
    this.#open();
  }

  /** Gives up the link, as when the device is no longer paired. */
  stop(): void {
    this.#stopped = true;
    if (this.#beat) clearInterval(this.#beat);
    this.#beat = null;
    this.#timers.forEach(clearTimeout);
    this.#timers = [];
    this.#close();
  }

  /** Sends a message; false if there is no link. */
  send(message: ClientMessage): boolean {
    if (!this.#socket || !this.#ready || this.#socket.readyState !== WebSocket.OPEN) return false;
    this.#socket.send(JSON.stringify(message));
    return true;
  }

  /** Several exchanges at once: at the start, and when the clock has to be learnt again. */
  burst(): void {
    for (let index = 0; index < BURST; index += 1) this.#later(() => this.#ping(), index * BURST_GAP_MS);
  }

  /** The page is shown again, or the device woke: look at the link at once instead of at the next beat. */
  wake(): void {
    this.#tick();
  }

  #later(run: () => void, after_ms: number): void {
    const timer = setTimeout(() => {
      this.#timers = this.#timers.filter((one) => one !== timer);
      if (!this.#stopped) run();
    }, after_ms);
    this.#timers.push(timer);
  }

  #ping(): void {
    if (this.#socket?.readyState === WebSocket.OPEN) {
      this.#socket.send(JSON.stringify({ type: 'ping', sent_ms: this.owner.clock() }));
    }
  }

  #tick(): void {
    if (!this.#socket || !this.#ready) return;
    if (performance.now() - this.#heard_ms > SILENCE_MS) {
      this.#lost(this.#heard_ms);
      return;
    }
    this.#ping();
  }

  async #look(): Promise<void> {
    if (this.#stopped || this.#socket) return;
    if (await answers()) this.#open();
    else this.#later(() => void this.#look(), POLL_MS);
  }

  #open(): void {
    if (this.#stopped || this.#socket) return;
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    let socket: WebSocket;
    try {
      socket = new WebSocket(`${scheme}://${location.host}/ws`);
    } catch {
      this.#later(() => void this.#look(), POLL_MS);
      return;
    }
    this.#socket = socket;
    this.#ready = false;
    const limit = setTimeout(() => {
      if (this.#socket === socket && !this.#ready) this.#lost(performance.now());
    }, OPEN_MS);
    socket.onopen = () => {
      if (this.#socket === socket) this.burst();
    };
    socket.onmessage = (event: MessageEvent<unknown>) => {
      if (this.#socket !== socket) return;
      const now_ms = performance.now();
      const message = parse(event.data);
      if (!message) return;
      this.#heard_ms = now_ms;
      if (message.type === 'welcome' && !this.#ready) {
        clearTimeout(limit);
        this.#ready = true;
        this.#refusals = 0;
        this.owner.message(message, now_ms);
        this.owner.up();
        return;
      }
      this.owner.message(message, now_ms);
    };
    socket.onclose = () => {
      clearTimeout(limit);
      if (this.#socket === socket) this.#lost(performance.now());
    };
    socket.onerror = () => socket.close();
  }

  #lost(since_ms: number): void {
    const wasReady = this.#ready;
    this.#close();
    if (wasReady) this.owner.down(since_ms);
    else {
      // It answered the poll but not the handshake: perhaps this device is no longer paired.
      this.#refusals += 1;
      if (this.#refusals % 3 === 1) this.owner.shut();
    }
    if (!this.#stopped) this.#later(() => void this.#look(), wasReady ? 0 : POLL_MS);
  }

  #close(): void {
    const socket = this.#socket;
    this.#socket = null;
    this.#ready = false;
    socket?.close();
  }
}

/** Whether the server answers. Short of patience, so that a lost answer costs little. */
async function answers(): Promise<boolean> {
  const limit = new AbortController();
  const timer = setTimeout(() => limit.abort(), 1500);
  try {
    const answer = await fetch('/healthz', { cache: 'no-store', signal: limit.signal });
    return answer.ok;
  } catch {
    return false;
  } finally {
    clearTimeout(timer);
  }
}

function parse(data: unknown): ServerMessage | null {
  if (typeof data !== 'string') return null;
  try {
    const message: unknown = JSON.parse(data);
    return typeof message === 'object' && message !== null && 'type' in message ? (message as ServerMessage) : null;
  } catch {
    return null;
  }
}
