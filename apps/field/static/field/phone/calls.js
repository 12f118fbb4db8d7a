// Calls to the server. A page of a hotel's network, a proxy's error or a sign-in page is no answer.
const BASE = "/api/v1/field/";
/** Waits and pauses [ms]. */
export const pace = document.querySelector('meta[name="phone-pace"]')?.getAttribute("content") === "quick"
  ? { store: 10_000, call: 4000, chunk: 5000, edit: 20, again: 60, most: 600, tick: 500 }
  : { store: 10_000, call: 15_000, chunk: 30_000, edit: 400, again: 1000, most: 60_000, tick: 30_000 };

/** No signal, or no answer that is ours. */
export class Away extends Error {
  /** @type {number | undefined} */
  status;
}
export class TooLarge extends Away {}
export class SignIn extends Error {}
export class Refused extends Error {
  /** @param {number} status @param {any} body what the server said */
  constructor(status, body) {
    super(body?.detail ?? `status ${status}`);
    this.status = status;
    this.body = body;
  }
}

let csrf = "";
/** The server's time less ours [ms]. */
export const clock = { offset: /** @type {number | null} */ (null) };

/**
 * @typedef {{ method?: string, body?: BodyInit, headers?: Record<string, string>, wait?: number }} Options
 * @typedef {{ status: number, body: any, answer: Response }} Answer `body`: JSON as the server sent it
 */

/** @param {string} path @param {Options} [options] @returns {Promise<Answer>} */
const once = async (path, options = {}) => {
  const giveUp = new AbortController();
  const timer = setTimeout(() => giveUp.abort(), options.wait ?? pace.call);
  try {
    return await asked(path, options, giveUp.signal);
  } finally {
    clearTimeout(timer);
  }
};

/** @param {string} path @param {Options} options @param {AbortSignal} signal @returns {Promise<Answer>} */
const asked = async (path, { method = "GET", body, headers = {} }, signal) => {
  let answer;
  try {
    answer = await fetch(BASE + path, {
      method, body, redirect: "error", cache: "no-store", credentials: "same-origin",
      headers: { Accept: "application/json", ...(method === "GET" ? {} : { "X-CSRFToken": csrf }), ...headers },
      signal,
    });
  } catch (error) {
    throw new Away(String(error));
  }
  const told = answer.headers.get("X-Server-Time");
  // a proxy before our server may find a body too large; all else that is not ours is no answer
  if (!told && answer.status === 413) throw new TooLarge("too large on its way");
  if (!told) throw new Away("not our server");
  clock.offset = new Date(told).getTime() - Date.now();
  if (answer.status === 304) return { status: 304, body: null, answer };
  let read = null;
  try {
    read = await answer.json();
  } catch {
    throw new Away("not an answer of ours");
  }
  if (read?.csrf) csrf = read.csrf;
  return { status: answer.status, body: read, answer };
};

/**
 * Calls the server; throws Away, TooLarge, SignIn or Refused where it does not do what is asked.
 * @param {string} path
 * @param {Options} [options]
 */
export const call = async (path, options = {}) => {
  let { status, body, answer } = await once(path, options);
  if (status === 403 && options.method && options.method !== "GET") {
    // the token may have changed: asked for once more
    await once("session");
    ({ status, body, answer } = await once(path, options));
  }
  if (status === 401) throw new SignIn("sign in");
  if (status >= 500 || status === 429 || status === 408) throw Object.assign(new Away(`status ${status}`), { status });
  if (status >= 400) throw new Refused(status, body);
  return { status, body, answer };
};

/** @param {string} method @param {unknown} data */
export const json = (method, data) => ({
  method, body: JSON.stringify(data), headers: { "Content-Type": "application/json" },
});
