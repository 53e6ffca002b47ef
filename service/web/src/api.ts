// Asking the service: one store of answers by path, kept fresh together. Every view reads through useData() (use_data.ts), so
// that what stands side by side on the page comes from the same picture and is asked for once.
import type { ProblemDetails } from './types';

const root = '/api/v1';

export class Problem extends Error {
  constructor(
    readonly status: number,
    readonly details: ProblemDetails,
  ) {
    super(details.detail || details.title);
  }
}

export interface Answer<T> {
  data?: T;
  problem?: Problem;
  loading: boolean;
}

interface Kept {
  answer: Answer<unknown>;
  etag?: string;
  isStale: boolean;
  asking?: Promise<void>;
  isLong?: boolean; // too long to be read before the others
  readers: Set<() => void>;
}

const kept = new Map<string, Kept>();

function entry(path: string): Kept {
  let found = kept.get(path);
  if (!found) kept.set(path, (found = { answer: { loading: true }, isStale: true, readers: new Set() }));
  return found;
}

// What a failed answer says; a proxy's page or a dropped connection says less than ours.
async function problemOf(response: Response): Promise<Problem> {
  try {
    return new Problem(response.status, (await response.json()) as ProblemDetails);
  } catch {
    return new Problem(response.status, { title: `The service answered ${response.status}`, status: response.status });
  }
}

interface Call {
  method?: string;
  body?: unknown;
  etag?: string;
  ifMatch?: string;
  signal?: AbortSignal;
}

async function call(path: string, { method = 'GET', body, etag, ifMatch, signal }: Call = {}): Promise<Response> {
  const headers: Record<string, string> = { Accept: 'application/json' };
  if (method !== 'GET') headers['Content-Type'] = 'application/json';
  if (method === 'POST') headers['Idempotency-Key'] = `"${crypto.randomUUID?.() ?? Math.random().toString(36).slice(2)}"`;
  if (etag) headers['If-None-Match'] = etag;
  if (ifMatch) headers['If-Match'] = ifMatch;
  let response: Response;
  try {
    response = await fetch(root + path, {
      method,
      headers,
      credentials: 'same-origin',
      cache: 'no-cache',
      body: body === undefined ? undefined : JSON.stringify(body),
      signal,
    });
  } catch (error) {
    if (signal?.aborted) throw error;
    throw new Problem(0, {
      title: 'The service cannot be reached',
      detail: 'The service cannot be reached. What stands here is what it said last.',
      status: 0,
    });
  }
  if (response.ok || response.status === 304) return response;
  throw await problemOf(response);
}

// By way of the bytes, which takes browsers a third less time than response.json(): of the days of hundreds of units that is
// what the first screen waits for.
async function read(response: Response): Promise<unknown> {
  return JSON.parse(new TextDecoder().decode(await response.arrayBuffer()));
}

export async function ask<T>(path: string, options: Call = {}): Promise<T> {
  const response = await call(path, options);
  return (response.status === 204 ? undefined : await read(response)) as T;
}

// The path of the next page of a list (RFC 8288), or nothing.
function nextPage(response: Response): string | undefined {
  const link = /<([^>]*)>\s*;\s*rel="?next"?/.exec(response.headers.get('Link') ?? '');
  return link?.[1] && new URL(link[1], location.href).href.split(root)[1];
}

// A list as one, however many pages it comes in.
async function withPages(whole: Record<string, unknown>, next: string | undefined): Promise<unknown> {
  while (next) {
    const response = await call(next);
    const page = (await read(response)) as Record<string, unknown>;
    for (const [name, list] of Object.entries(page))
      if (Array.isArray(list) && Array.isArray(whole[name])) whole[name] = [...(whole[name] as unknown[]), ...list];
    next = nextPage(response);
  }
  return whole;
}

// A long answer holds a slow processor for half a second: what was asked for beside it is read and painted first.
const longAnswer = 50_000; // bytes as they are sent, packed
const longestWait = 500; // ms

// Until what is there now has been painted, or would have been.
function painted(): Promise<void> {
  return new Promise((is) => {
    requestAnimationFrame(() => setTimeout(is));
    setTimeout(is, 100);
  });
}

async function othersFirst(item: Kept, response: Response): Promise<void> {
  if (Number(response.headers.get('Content-Length')) < longAnswer || item.answer.data !== undefined) return;
  item.isLong = true;
  const end = Date.now() + longestWait;
  do await painted();
  while (Date.now() < end && [...kept.values()].some((other) => other.asking && !other.isLong));
}

async function load(path: string): Promise<void> {
  const item = entry(path);
  const before = item.answer;
  item.isStale = false; // until something changes, which may be while the answer is on its way
  try {
    const response = await call(path, { etag: item.answer.data === undefined ? undefined : item.etag });
    if (response.status !== 304) {
      await othersFirst(item, response);
      const next = nextPage(response);
      // Of a list in pages none has the tag of the whole.
      item.etag = next ? undefined : (response.headers.get('ETag') ?? undefined);
      item.answer = { data: await withPages((await read(response)) as Record<string, unknown>, next), loading: false };
    } else if (item.answer.problem) {
      item.answer = { data: item.answer.data, loading: false };
    }
  } catch (error) {
    // What was said last stays on the page, with the trouble beside it.
    item.answer = { data: item.answer.data, problem: error as Problem, loading: false };
  }
  item.asking = undefined;
  if (item.answer !== before) item.readers.forEach((tell) => tell());
  if (item.isStale && item.readers.size > 0) await need(path);
}

// Asks unless the answer is there or on its way.
export function need(path: string): Promise<void> {
  const item = entry(path);
  if (item.isStale && !item.asking) item.asking = load(path);
  return item.asking ?? Promise.resolve();
}

export function answerOf<T>(path: string): Answer<T> {
  return entry(path).answer as Answer<T>;
}

// Tells each time the answer of a path is another; what is returned ends it.
export function listenTo(path: string, tell: () => void): () => void {
  const { readers } = entry(path);
  readers.add(tell);
  return () => {
    readers.delete(tell);
  };
}

// What stands on the page is asked for again; what does not is forgotten.
export function refresh(): Promise<unknown> {
  const asked: Promise<void>[] = [];
  for (const [path, item] of kept) {
    item.isStale = true;
    if (item.readers.size > 0) asked.push(need(path));
    else if (!item.asking) kept.delete(path);
  }
  return Promise.all(asked);
}

// Why something on the page could not be read anew, where that may pass; nothing while all of it is as the service says it.
export function unread(): Problem | undefined {
  for (const { answer, readers } of kept.values()) {
    const { problem } = answer;
    if (readers.size === 0 || !problem) continue;
    // An answer that broke off is no Problem.
    if (!(problem instanceof Problem) || problem.status === 0 || problem.status === 429 || problem.status >= 500) return problem;
  }
  return undefined;
}

export function etagOf(path: string): string | undefined {
  return kept.get(path)?.etag;
}

// The sentences of a refused call: what is wrong, where, and what would do.
export function sentences(problem: Problem): string[] {
  const { details } = problem;
  const errors = details.errors ?? [];
  if (errors.length === 0) return [details.detail ?? details.title];
  return errors.map((e) => [e.pointer ?? e.parameter, e.detail].filter(Boolean).join(': ') + (e.hint ? ` (${e.hint})` : ''));
}
