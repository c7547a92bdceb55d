//! Taps on their way: kept until answered, sent again with the same id, content and time.
import { expect, test } from 'vitest';
import type { Event } from '../wire/generated';
import { TapQueue, type Store, type Tap } from './queue';

class Memory implements Store {
  kept = new Map<string, string>();
  getItem(key: string): string | null {
    return this.kept.get(key) ?? null;
  }
  setItem(key: string, value: string): void {
    this.kept.set(key, value);
  }
}
const tap = (id: string, event: Event = { kind: 'rosc' }): Tap => ({
  id, code: 'c', at_ms: 63_500, clock_error_ms: 4, event, does: [], seen: '1.1', server_ms: 1000, sent: false,
});

test('an unanswered tap outlives a reload and goes out again as it was', () => {
  const store = new Memory();
  const first = new TapQueue(store);
  first.add(tap('a'));
  first.add(tap('b'));
  const sent: Tap[] = [];
  first.send(first.taps[0]!, (one) => sent.push(structuredClone(one)) > 0, 1000);
  const second = new TapQueue(store);
  second.resend((one) => sent.push(structuredClone(one)) > 0, 99_000);
  expect(sent.map((one) => [one.id, one.at_ms])).toEqual([['a', 63_500], ['a', 63_500], ['b', 63_500]]);
});

test('recorded and refused both end it', () => {
  const store = new Memory();
  const queue = new TapQueue(store);
  queue.add(tap('a'));
  expect(queue.answered('a')?.id).toBe('a');
  expect(queue.answered('a')).toBeNull();
  expect(new TapQueue(store).taps).toEqual([]);
});

test('a clock start that had to wait says for how long, but never changes once it was sent', () => {
  const queue = new TapQueue(null);
  queue.add(tap('a', { kind: 'clock_started', recognised_ago_ms: 60_000 }));
  const sent: Event[] = [];
  queue.resend(() => false, 1000);
  queue.resend((one) => sent.push(one.event) > 0, 6000);
  queue.resend((one) => sent.push(one.event) > 0, 16_000);
  expect(sent).toEqual([
    { kind: 'clock_started', recognised_ago_ms: 65_000 },
    { kind: 'clock_started', recognised_ago_ms: 65_000 },
  ]);
});

test('damaged storage is an empty queue', () => {
  const store = new Memory();
  store.setItem('coxswain.taps', '{"no":');
  expect(new TapQueue(store).taps).toEqual([]);
  store.setItem('coxswain.taps', '[{"id":1},null]');
  expect(new TapQueue(store).taps).toEqual([]);
});
