/** The one way to the server: JSON both ways, its refusals as errors with a sentence. */
import { tab } from "../shell/tab";
import { link } from "./link.svelte";
import type { Refusal } from "./types";

/** The server says why it can't be done, and what to do. */
export class Refused extends Error {
  constructor(
    readonly refusal: Refusal,
    readonly status: number,
  ) {
    super(refusal.text);
  }
}

/** Nothing answers. */
export class Gone extends Error {}

export const isAbort = (error: unknown): boolean =>
  error instanceof DOMException && error.name === "AbortError";

/** The refusal in an error; null when it is none (nothing answers, or the request was dropped on purpose). */
export function refusalOf(error: unknown): Refusal | null {
  return error instanceof Refused ? error.refusal : null;
}

export type Query = Record<string, string | number | boolean | null | undefined>;

/** An address under /api with its query; what is null or undefined is left out. */
export function address(path: string, query: Query = {}): string {
  const asked = Object.entries(query).filter(([, value]) => value !== null && value !== undefined);
  const text = new URLSearchParams(asked.map(([name, value]) => [name, String(value)])).toString();
  return `/api${path}${text ? `?${text}` : ""}`;
}

async function refusedBy(response: Response): Promise<Refused> {
  try {
    const body = (await response.json()) as { error?: Refusal };
    if (body.error) return new Refused(body.error, response.status);
  } catch {
    // not JSON: told by its status below
  }
  const text = `${response.status} ${response.statusText}`.trim();
  return new Refused({ code: "http", text, mend: "", where: null }, response.status);
}

/** The raw answer; raises Refused, Gone, or the AbortError of `signal`. */
export async function ask(url: string, init: RequestInit = {}): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(url, { credentials: "same-origin", ...init });
  } catch (error) {
    if (isAbort(error)) throw error;
    link.lost();
    throw new Gone();
  }
  link.heard(response.status);
  if (!response.ok) throw await refusedBy(response);
  return response;
}

async function json<T>(url: string, init: RequestInit = {}): Promise<T> {
  const response = await ask(url, init);
  return (response.status === 204 ? undefined : await response.json()) as T;
}

const body = (value: unknown, method: string) => ({
  method,
  headers: { "Content-Type": "application/json" },
  body: JSON.stringify(value ?? {}),
});

const withSignal = (signal?: AbortSignal): RequestInit => (signal ? { signal } : {});

export const get = <T>(path: string, query: Query = {}, signal?: AbortSignal): Promise<T> =>
  json<T>(address(path, query), withSignal(signal));
export const post = <T>(path: string, value?: unknown): Promise<T> =>
  json<T>(address(path), body(value, "POST"));
/** The answer tells the tab what has changed; named, it need not hear of it as an event. */
export const patch = <T>(path: string, value: unknown): Promise<T> => {
  const { headers, ...init } = body(value, "PATCH");
  return json<T>(address(path), { ...init, headers: { ...headers, "X-Tab": tab } });
};
/** The same as `del`, and sent even when the page goes away meanwhile; nobody hears the answer. */
export const farewell = (path: string, query: Query): void =>
  void fetch(address(path, query), { method: "DELETE", keepalive: true }).catch(() => undefined);
export const del = <T>(path: string): Promise<T> => json<T>(address(path), { method: "DELETE" });

/** Sends a file, telling how much of it has left (0-1); `signal` calls it back. */
export function upload<T>(
  path: string,
  file: File,
  told: (share: number) => void = () => {},
  signal?: AbortSignal,
): Promise<T> {
  return new Promise((done, failed) => {
    const request = new XMLHttpRequest();
    request.open("POST", address(path));
    request.responseType = "json";
    request.upload.onprogress = (event) => event.lengthComputable && told(event.loaded / event.total);
    request.onload = () => {
      link.heard(request.status);
      const answer = request.response as { error?: Refusal } | null;
      if (request.status < 300) return done(answer as T);
      const plain = { code: "http", text: String(request.status), mend: "", where: null };
      failed(new Refused(answer?.error ?? plain, request.status));
    };
    request.onerror = () => {
      link.lost();
      failed(new Gone());
    };
    request.onabort = () => failed(new DOMException("", "AbortError"));
    signal?.addEventListener("abort", () => request.abort());
    const form = new FormData();
    form.append("file", file, file.name);
    request.send(form);
  });
}
