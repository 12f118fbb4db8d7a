// Calls to the server. A page of a hotel's network, a proxy's error or a sign-in page is no answer.
const BASE = "/api/v1/field/";
export const pace = document.querySelector('meta[name="phone-pace"]')?.content === "quick"
  ? { call: 1500, chunk: 3000, edit: 20, again: 60, most: 600, tick: 500 }
  : { call: 15_000, chunk: 30_000, edit: 400, again: 1000, most: 60_000, tick: 30_000 };

export class Away extends Error {} // no signal, or no answer that is ours
export class TooLarge extends Away {}
export class SignIn extends Error {}
export class Refused extends Error {
  constructor(status, body) {
    super(body?.detail ?? `status ${status}`);
    this.status = status;
    this.body = body;
  }
}

let csrf = "";
export const clock = { offset: null }; // the server's time less ours [ms]

const once = async (path, { method = "GET", body, headers = {}, wait = pace.call } = {}) => {
  let answer;
  try {
    answer = await fetch(BASE + path, {
      method, body, redirect: "error", cache: "no-store", credentials: "same-origin",
      headers: { Accept: "application/json", ...(method === "GET" ? {} : { "X-CSRFToken": csrf }), ...headers },
      signal: AbortSignal.timeout(wait),
    });
  } catch (error) {
    throw new Away(String(error?.message ?? error));
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

export const call = async (path, options = {}) => {
  let { status, body, answer } = await once(path, options);
  if (status === 403 && options.method && options.method !== "GET") {
    // the token may have changed: asked for once more
    await once("session");
    ({ status, body, answer } = await once(path, options));
  }
  if (status === 401) throw Object.assign(new SignIn("sign in"), { body });
  if (status >= 500 || status === 429 || status === 408) throw Object.assign(new Away(`status ${status}`), { status });
  if (status >= 400) throw new Refused(status, body);
  return { status, body, answer };
};

export const json = (method, data) => ({
  method, body: JSON.stringify(data), headers: { "Content-Type": "application/json" },
});
