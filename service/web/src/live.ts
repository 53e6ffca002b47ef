// Keeping the page up to date: by the event stream, or while there is none by asking for the service's state, and never more
// often than a reader can follow. People may pause it (WCAG 2.2.2).
import { answerOf, ask, Problem, refresh, unread } from './api';
import { paths } from './place';
import type { Status } from './types';
import { useOutside } from './use_data';

const askEvery = 15_000;
const refreshAtMostEvery = 10_000;

export interface Live {
  mode: 'listening' | 'asking' | 'paused' | 'unreachable';
  status?: Status;
  unread?: Error; // why part of the page is older than the status
  changed: string; // what changed last, in a sentence for screen readers
}

let live: Live = { mode: 'asking', changed: '' };
let offset = 0; // the service's clock less the reader's, in ms
let timer: number | undefined;
let stream: EventSource | undefined;
let refreshedAt = 0;
let waiting: number | undefined;
const readers = new Set<() => void>();

function tell(change: Partial<Live>): void {
  live = { ...live, ...change };
  readers.forEach((reader) => reader());
}

export function serviceNow(): Date {
  return new Date(Date.now() + offset);
}

function refreshSoon(why: string): void {
  if (waiting !== undefined) return;
  waiting = window.setTimeout(
    async () => {
      waiting = undefined;
      refreshedAt = Date.now();
      await refresh();
      const failed = unread();
      tell(failed ? { unread: failed } : { unread: undefined, changed: why });
    },
    Math.max(0, refreshedAt + refreshAtMostEvery - Date.now()),
  );
}

async function askOnce(): Promise<void> {
  try {
    const status = await ask<Status>('/status');
    const before = live.status;
    offset = Date.parse(status.now) - Date.now();
    const isBack = live.mode === 'unreachable';
    tell({ status, unread: unread(), mode: live.mode === 'paused' ? 'paused' : stream ? 'listening' : 'asking' });
    listen();
    if (live.unread || (before && (before.picture.number !== status.picture.number || isBack)))
      refreshSoon('The forecast or what people entered has changed; the page shows it.');
  } catch (problem) {
    // A session that has ended is said by what stands on the page, once that is asked for again.
    const isSaid = answerOf<unknown>(paths.session).problem?.status === 401;
    if (problem instanceof Problem && problem.status === 401 && live.status && !isSaid) void refresh();
    tell({ mode: live.mode === 'paused' ? 'paused' : 'unreachable' });
  }
}

function askAgainLater(): void {
  window.clearTimeout(timer);
  timer = window.setTimeout(async () => {
    if (live.mode !== 'paused' && !document.hidden) await askOnce();
    else tell({}); // ages go on
    askAgainLater();
  }, askEvery);
}

// After each answer, so that a stream that was refused or lost is sought again.
function listen(): void {
  if (stream || live.mode === 'paused') return;
  stream = new EventSource('/api/v1/events');
  const hear = () => void askOnce();
  for (const type of ['run.published.v1', 'resync', 'message']) stream.addEventListener(type, hear);
  stream.onopen = () => tell({ mode: 'listening' });
  stream.onerror = () => {
    if (stream?.readyState !== EventSource.CLOSED) return;
    stream = undefined;
    tell({ mode: 'asking' });
  };
}

export async function begin(): Promise<void> {
  await askOnce();
  askAgainLater();
  document.addEventListener('visibilitychange', () => {
    if (!document.hidden && live.mode !== 'paused') void askOnce();
  });
}

export function pause(): void {
  window.clearTimeout(waiting);
  waiting = undefined;
  stream?.close();
  stream = undefined;
  tell({ mode: 'paused', changed: 'Updates are paused.' });
}

export function resume(): void {
  tell({ mode: 'asking', changed: 'Updates go on.' });
  void askOnce();
  refreshSoon('The page is up to date.');
}

// A change the reader made is shown at once.
export async function showChange(): Promise<void> {
  refreshedAt = Date.now();
  await Promise.all([refresh(), askOnce()]);
}

function listenToLive(tell: () => void): () => void {
  readers.add(tell);
  return () => {
    readers.delete(tell);
  };
}

export function useLive(): Live {
  return useOutside(listenToLive, () => live, 'live');
}
