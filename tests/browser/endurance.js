//! An hour's code at speed on three tablets, and what it does to them: memory after a garbage collection, nodes of the page, and
//! frames that came late; for the leader's also what the memory is made of, early and at the end: the page's own objects, or
//! code that the engine compiled and entries that the browser keeps. Printed, not judged: `make endurance`, or with SPEED=30
//! (SPEED=1 is a real hour). Times depend on the machine.
import { performance } from 'node:perf_hooks';
import { play, shown } from './scenes.js';
import { dataFolder, start } from './server.js';
import { browse, faults, pair } from './team.js';

const SPEED = Number(process.env.SPEED ?? 20);
const MINUTES = Number(process.env.MINUTES ?? 60);
const CYCLE_MIN = 2;
/** When the leader's memory is taken apart first: by then all of its screen was seen once. */
const LOOKED_AT_CYCLE = 5;
/** A frame is late from here on: three of a screen with 60 a second. */
const LATE_MS = 50;

const data = dataFolder();
const browser = await browse();
const server = await start(['demo', '--no-team', '--speed', String(SPEED), '--listen', '127.0.0.1:0', '--data', data.path]);

/** Watches frames from now on. */
const watch = (page) => page.evaluate((late) => {
  window.frames = { all: 0, late: 0, worst_ms: 0, skip: 0 };
  let before = performance.now();
  const frame = (now) => {
    const took = now - before;
    before = now;
    if (window.frames.skip > 0) {
      window.frames.skip -= 1;
      requestAnimationFrame(frame);
      return;
    }
    window.frames.all += 1;
    if (took > late) window.frames.late += 1;
    window.frames.worst_ms = Math.max(window.frames.worst_ms, took);
    requestAnimationFrame(frame);
  };
  requestAnimationFrame(frame);
}, LATE_MS);

/** Kilobytes on the heap by what they are: from a heap snapshot, in V8's format (a flat list of nodes, each of some fields). */
async function madeOf(line) {
  const parts = [];
  const more = ({ chunk }) => parts.push(chunk);
  line.on('HeapProfiler.addHeapSnapshotChunk', more);
  await line.send('HeapProfiler.takeHeapSnapshot', { reportProgress: false });
  line.off('HeapProfiler.addHeapSnapshotChunk', more);
  const { snapshot, nodes } = JSON.parse(parts.join(''));
  const { node_fields: fields, node_types: types } = snapshot.meta;
  const [type, size] = [fields.indexOf('type'), fields.indexOf('self_size')];
  const found = { page: 0, compiled: 0, browser: 0 };
  for (let at = 0; at < nodes.length; at += fields.length) {
    const kind = types[type][nodes[at + type]];
    const owner = kind === 'native' ? 'browser' : kind === 'code' || kind === 'object shape' ? 'compiled' : 'page';
    found[owner] += nodes[at + size];
  }
  return Object.entries(found).map(([name, bytes]) => `${name} ${Math.round(bytes / 1000)} kB`).join(', ');
}

/** Frames that come while something is measured, and the one after, are the measurement's own. */
async function aside(page, measure) {
  await page.evaluate(() => (window.frames.skip = Infinity));
  const found = await measure();
  await page.evaluate(() => (window.frames.skip = 1));
  return found;
}

/** Sends records in the code, at the time of their sending. */
const record = (page, code, events) => page.evaluate(async ({ code, events }) => {
  window.line ??= new Promise((open) => {
    const socket = new WebSocket(`${location.origin.replace('http', 'ws')}/ws`);
    socket.onopen = () => open(socket);
  });
  const line = await window.line;
  for (const event of events) line.send(JSON.stringify({ type: 'record', id: crypto.randomUUID(), code, event }));
}, { code, events });

try {
  const pages = {};
  for (const role of ['leader', 'compressor', 'drugs']) pages[role] = await pair(browser, server, { name: `Bay 1 ${role}`, location: 'Bay 1', role });
  for (const page of Object.values(pages)) await page.emulateMedia({ reducedMotion: 'no-preference' });
  const code = await play(pages.leader, { ago_ms: 1000, events: [[500, { kind: 'compressions_started', by: 'manual' }]] });
  await shown(Object.values(pages), code);
  const lines = {};
  for (const [role, page] of Object.entries(pages)) {
    await watch(page);
    lines[role] = await page.context().newCDPSession(page);
    await lines[role].send('Performance.enable');
  }
  const began = performance.now();
  console.log('code min | role       | heap MB | nodes | listeners | frames | late | worst ms');
  for (let cycle = 1; cycle <= MINUTES / CYCLE_MIN; cycle += 1) {
    await new Promise((done) => setTimeout(done, Math.max(0, began + (cycle * CYCLE_MIN * 60_000) / SPEED - performance.now())));
    await record(pages.leader, code, [
      { kind: 'compressions_stopped', reason: 'rhythm_check' },
      { kind: 'rhythm_checked', rhythm: 'asystole', pulse: 'not_checked' },
      { kind: 'compressions_started', by: 'manual' },
      { kind: 'etco2_read', mmhg: 14 + (cycle % 5) },
      ...(cycle % 2 ? [{ kind: 'drug_given', drug: 'epinephrine', dose: { value: 1, unit: 'mg' }, route: 'iv', form: 'bolus' }] : []),
    ]);
    if (cycle % 5 && cycle !== 1) continue;
    for (const [role, line] of Object.entries(lines)) {
      await aside(pages[role], () => line.send('HeapProfiler.collectGarbage'));
      const metrics = Object.fromEntries((await line.send('Performance.getMetrics')).metrics.map(({ name, value }) => [name, value]));
      const frames = await pages[role].evaluate(() => window.frames);
      const row = [cycle * CYCLE_MIN, role.padEnd(10), (metrics.JSHeapUsedSize / 1e6).toFixed(1), metrics.Nodes, metrics.JSEventListeners, frames.all, frames.late, Math.round(frames.worst_ms)];
      console.log(row.join(' | '));
    }
    if (cycle !== LOOKED_AT_CYCLE && cycle * CYCLE_MIN < MINUTES) continue;
    console.log(`leader's heap at ${cycle * CYCLE_MIN} min: ${await aside(pages.leader, () => madeOf(lines.leader))}`);
  }
  const wrong = faults(pages);
  if (wrong.length > 0) console.log(wrong.join('\n'));
} finally {
  await browser.close();
  await server.kill();
  data.remove();
}
