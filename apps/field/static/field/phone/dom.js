// Small helpers that build the page: elements, never strings of HTML.
/**
 * Makes an element. An attribute of null or false is left out, "on…" is a listener; children of
 * null, false or "" are left out.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Attributes} [attributes]
 * @param {Child[]} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export const h = (tag, attributes = {}, ...children) => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") made.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else if (name === "class") made.className = String(value);
    else if (name in made && typeof value === "boolean") Object.assign(made, { [name]: value });
    else made.setAttribute(name, value === true ? "" : String(value));
  }
  const flat = /** @type {Exclude<Child, Child[]>[]} */ (/** @type {unknown[]} */ (children).flat(Infinity));
  for (const child of flat)
    if (child !== null && child !== undefined && child !== false && child !== "") made.append(child instanceof Node ? child : String(child));
  return made;
};

// Pictures that the server or our own drawing code wrote, as elements; anything else is refused.
const NS = "http://www.w3.org/2000/svg";
const policy = globalThis.trustedTypes?.createPolicy("backyard-svg", { createHTML: (text) => text });
const KNOWN = new Set(["svg", "g", "path", "text", "tspan", "title", "rect", "circle", "line", "desc"]);
/** @param {string} text @returns {HTMLElement} */
export const picture = (text) => {
  const read = new DOMParser().parseFromString(policy?.createHTML(text) ?? text, "image/svg+xml");
  const root = read.documentElement;
  for (const part of [root, ...root.querySelectorAll("*")]) {
    if (part.namespaceURI !== NS || !KNOWN.has(part.localName)) throw new Error("not a picture of ours");
    for (const { name } of part.attributes) if (/^on|href/i.test(name)) throw new Error("not a picture of ours");
  }
  return document.importNode(root, true);
};

/**
 * An element that the page's frame has.
 * @param {string} id
 */
export const byId = (id) => {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no ${id}`);
  return found;
};

/** @param {Child} text @param {string} to @param {Attributes} [attributes] */
export const link = (text, to, attributes = {}) => h("a", { href: to, ...attributes }, text);
