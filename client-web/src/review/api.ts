//! What the review page asks of the server. A failure comes with its named reason; a change that came too late comes with the
//! code as it stands now. It keeps whom the page shows as signed in, and nothing else.
import { dayBegins } from './model/wall';
import type {
  AccessPage, Change, CodePage, DebriefRequest, ReviewedCode, SessionState, TrendsAnswer,
} from '../wire/generated';

/** A refusal, in the server's words, or that there was no answer at all. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly reason: string,
    message: string,
    /** Of a change that came too late: the code as it stands now. */
    readonly now: ReviewedCode | null = null,
    /** Of a request that is wrong: which field. */
    readonly field: string | null = null,
  ) {
    super(message);
  }
}

type Json = { readonly [name: string]: unknown };
const isObject = (value: unknown): value is Json => typeof value === 'object' && value !== null && !Array.isArray(value);

/** The account that the page shows: another tab may have signed somebody else in, who must not sign under this one's name. */
let shown: string | null = null;
export function askAs(account: string | null): void { shown = account; }

async function ask(method: string, path: string, body?: unknown): Promise<unknown> {
  const init: RequestInit = { method, cache: 'no-store', credentials: 'same-origin' };
  const headers: Record<string, string> = {};
  if (shown !== null && path !== 'session') headers['coxswain-account'] = shown;
  if (body !== undefined) {
    init.body = JSON.stringify(body);
    headers['content-type'] = 'application/json';
  }
  init.headers = headers;
  let answer: Response;
  try {
    answer = await fetch(`/api/review/${path}`, init);
  } catch {
    throw new Refused(0, 'no_answer', '');
  }
  const content: unknown = await answer.json().catch(() => null);
  if (answer.ok) return content;
  const fields = isObject(content) ? content : {};
  const error = isObject(fields['error']) ? fields['error'] : {};
  const text = (name: string): string | null => (typeof error[name] === 'string' ? error[name] : null);
  const now = isObject(fields['code']) ? (fields['code'] as unknown as ReviewedCode) : null;
  throw new Refused(answer.status, text('reason') ?? String(answer.status), text('message') ?? '', now, text('field'));
}

/** Chosen as a place: the codes without one. No place is called so, since the server trims names. */
export const NO_PLACE = ' ';

/** A query, without what is empty. */
export function query(fields: { readonly [name: string]: string | number | boolean | undefined }): string {
  const given = Object.entries(fields).filter(([, value]) => value !== undefined && value !== '');
  return given.length === 0 ? '' : `?${new URLSearchParams(given.map(([name, value]) => [name, value === NO_PLACE ? '' : String(value)]))}`;
}

/** Who is signed in; null if nobody is. */
export async function session(): Promise<SessionState | null> {
  try {
    return (await ask('GET', 'session')) as SessionState;
  } catch (failure) {
    if (failure instanceof Refused && failure.status === 401) return null;
    throw failure;
  }
}
export const signIn = async (name: string, password: string): Promise<SessionState> => (await ask('POST', 'session', { name, password })) as SessionState;
export const signOut = (): Promise<unknown> => ask('DELETE', 'session');

/** What the list is cut down to; empty fields ask nothing. */
export interface Filter {
  from: string;
  to: string;
  location: string;
  protocol: string;
  training: string;
  outcome: string;
  signed: string;
}
export const NO_FILTER: Filter = { from: '', to: '', location: '', protocol: '', training: '', outcome: '', signed: '' };

/** A page of the list. Days of the filter are those of the reader's own zone, as the list's times are. */
export const codes = async (filter: Filter, page: number): Promise<CodePage> =>
  (await ask('GET', `codes${query({ ...filter, from: dayBegins(filter.from), to: dayBegins(filter.to), page })}`)) as CodePage;
export const code = async (id: string, version?: number): Promise<ReviewedCode> => (await ask('GET', `codes/${id}${query({ version })}`)) as ReviewedCode;
export const change = async (id: string, head: string, reason: string, what: Change): Promise<ReviewedCode> =>
  (await ask('POST', `codes/${id}/changes`, { head, reason, change: what })) as ReviewedCode;
export const debrief = async (id: string, fields: DebriefRequest): Promise<ReviewedCode> => (await ask('POST', `codes/${id}/debrief`, fields)) as ReviewedCode;
export const sign = async (id: string, head: string): Promise<ReviewedCode> => (await ask('POST', `codes/${id}/signature`, { head })) as ReviewedCode;
export const accessLog = async (code: string | undefined, page: number): Promise<AccessPage> => (await ask('GET', `access_log${query({ code, page })}`)) as AccessPage;
/** Month by month: one side, or two if fields that begin with `than_` are given. */
export const trends = async (fields: { readonly [name: string]: string }): Promise<TrendsAnswer> => (await ask('GET', `trends${query(fields)}`)) as TrendsAnswer;
