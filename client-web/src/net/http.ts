//! The few HTTP requests beside the WebSocket: pairing, opening a code, settings, protocols. It must not keep state.
import type { AgeGroup, DeviceInfo, Patient, PriorCare, ProtocolRef, Role } from '../wire/generated';

/** A cause as the protocol lists it. */
export interface CauseChoice {
  id: string;
  title: string;
  /** Other protocols' words for it on the record; absent where there are none. */
  also?: string[];
}

/** A protocol as `/api/protocols` lists it; only the fields the screens use. */
export interface ProtocolChoice {
  id: string;
  title: string;
  version: number;
  age_group: AgeGroup;
  approved: boolean;
  causes: CauseChoice[];
  /** The circumstances it knows; empty where it does not say. */
  circumstances: CauseChoice[];
  /** The protocol of the same guideline for the other age group, if it names one. */
  other_ages: string | null;
}

/** A failure in words for the person. `code` is the named reason, if the server gave one. */
export class RequestFailed extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    /** What it is about, such as the code that runs. */
    readonly about: string | null = null,
  ) {
    super(message);
  }
}

async function request(method: string, path: string, body?: unknown): Promise<unknown> {
  const init: RequestInit = { method, cache: 'no-store', credentials: 'same-origin' };
  if (body !== undefined) {
    init.body = JSON.stringify(body);
    init.headers = { 'content-type': 'application/json' };
  }
  let answer: Response;
  try {
    answer = await fetch(path, init);
  } catch {
    throw new RequestFailed(0, 'no_answer', '');
  }
  const content: unknown = await answer.json().catch(() => null);
  if (!answer.ok) {
    const fields = isObject(content) ? content : {};
    const inner = isObject(fields['error']) ? fields['error'] : fields;
    const reason = inner['reason'] ?? (typeof fields['error'] === 'string' ? fields['error'] : undefined);
    throw new RequestFailed(
      answer.status,
      typeof reason === 'string' ? reason : String(answer.status),
      typeof inner['message'] === 'string' ? inner['message'] : '',
      typeof inner['id'] === 'string' ? inner['id'] : null,
    );
  }
  return content;
}

function isObject(value: unknown): value is { [key: string]: unknown } {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function deviceOf(content: unknown): DeviceInfo | null {
  const fields = isObject(content) && isObject(content['device']) ? content['device'] : content;
  return isObject(fields) && typeof fields['id'] === 'string' ? (fields as unknown as DeviceInfo) : null;
}

/** Who this device is; null if it is not paired. */
export async function whoAmI(): Promise<DeviceInfo | null> {
  try {
    return deviceOf(await request('GET', '/api/me'));
  } catch (failure) {
    if (failure instanceof RequestFailed && (failure.status === 401 || failure.status === 403)) return null;
    throw failure;
  }
}

/** What a device says of itself. */
export interface DeviceFields {
  name: string;
  location?: string;
  home_role?: Role;
}

/** Pairs this device; the token comes as a cookie. */
export async function pair(join_code: string, fields: DeviceFields): Promise<void> {
  await request('POST', '/api/pair', { join_code, ...fields });
}

/** Changes name, location or home role; null takes one away. */
export async function changeDevice(fields: {
  name?: string;
  location?: string | null;
  home_role?: Role | null;
}): Promise<void> {
  await request('PATCH', '/api/device', fields);
}

/** What a code is opened with. */
export interface OpenCode {
  id: string;
  protocol: ProtocolRef;
  patient: Patient;
  training: boolean;
  location?: string;
  prior_care?: PriorCare;
  /** A second code at a location where one runs, on purpose. */
  another?: boolean;
}

/** Opens a code. A second one at the same location is refused with `code_running`. */
export async function openCode(fields: OpenCode): Promise<string> {
  const content = await request('POST', '/api/codes', fields);
  return isObject(content) && typeof content['id'] === 'string' ? content['id'] : fields.id;
}

/** A join code and its QR picture, for pairing another tablet. */
export interface JoinCode {
  code: string;
  url: string;
  qr_svg: string;
}

/** Asks for a join code. */
export async function joinCode(): Promise<JoinCode> {
  const content = await request('GET', '/api/join-code');
  const fields = isObject(content) ? content : {};
  return {
    code: String(fields['join_code'] ?? fields['code'] ?? ''),
    url: String(fields['url'] ?? ''),
    qr_svg: String(fields['qr_svg'] ?? ''),
  };
}

/** The protocols that a code may be opened with. */
export async function protocols(): Promise<ProtocolChoice[]> {
  const content = await request('GET', '/api/protocols');
  const list = Array.isArray(content) ? content : isObject(content) ? content['protocols'] : [];
  if (!Array.isArray(list)) return [];
  return list.filter(isObject).map((one) => ({
    id: String(one['id']),
    title: String(one['title'] ?? one['id']),
    version: Number(one['version'] ?? 1),
    age_group: (one['age_group'] as AgeGroup | undefined) ?? 'adult',
    approved: one['approved'] === true,
    causes: choices(one['causes']),
    circumstances: choices(one['circumstances']),
    other_ages: typeof one['other_ages'] === 'string' ? one['other_ages'] : null,
  }));
}

function choices(list: unknown): CauseChoice[] {
  if (!Array.isArray(list)) return [];
  return list.filter(isObject).map((one) => {
    const id = String(one['id'] ?? one['name']);
    const choice: CauseChoice = { id, title: String(one['title'] ?? id) };
    return Array.isArray(one['also']) ? { ...choice, also: one['also'].map(String) } : choice;
  });
}
