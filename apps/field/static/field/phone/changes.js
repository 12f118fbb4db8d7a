// Who hears of a change: this page and the other tabs.
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("backyard") : null;
/** @type {Set<(what: Change) => void>} */
const listeners = new Set();

/** @param {Change} what */
const tell = (what) => {
  for (const listener of listeners) listener(what);
};
if (channel) channel.onmessage = (event) => tell(event.data);

/** @param {Change} what */
export const announce = (what) => {
  tell(what);
  channel?.postMessage(what);
};

/** @param {(what: Change) => void} listener */
export const onChange = (listener) => {
  listeners.add(listener);
  return () => listeners.delete(listener);
};
