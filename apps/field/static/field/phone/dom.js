// Small helpers that build the page: elements, never strings of HTML.
export const h = (tag, attributes = {}, ...children) => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "class") made.className = value;
    else if (name in made && typeof value === "boolean") made[name] = value;
    else made.setAttribute(name, value === true ? "" : String(value));
  }
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false && child !== ""));
  return made;
};

// Pictures that the server or our own drawing code wrote, as elements; anything else is refused.
const NS = "http://www.w3.org/2000/svg";
const policy = globalThis.trustedTypes?.createPolicy("backyard-svg", { createHTML: (text) => text });
const KNOWN = new Set(["svg", "g", "path", "text", "tspan", "title", "rect", "circle", "line", "desc"]);
export const picture = (text) => {
  const read = new DOMParser().parseFromString(policy ? policy.createHTML(text) : text, "image/svg+xml");
  const root = read.documentElement;
  for (const part of [root, ...root.querySelectorAll("*")]) {
    if (part.namespaceURI !== NS || !KNOWN.has(part.localName)) throw new Error("not a picture of ours");
    for (const { name } of part.attributes) if (/^on|href/i.test(name)) throw new Error("not a picture of ours");
  }
  return document.importNode(root, true);
};

export const field = (id, label, control, { optional = "" } = {}) =>
  h("div", { class: "field" }, h("label", { for: id }, label, optional && h("span", { class: "optional" }, ` ${optional}`)), control);

export const button = (text, act, attributes = {}) =>
  h("button", { class: "button", type: "button", onclick: act, ...attributes }, text);
export const link = (text, to, attributes = {}) => h("a", { href: to, ...attributes }, text);
