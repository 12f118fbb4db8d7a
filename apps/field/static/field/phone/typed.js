// A number as a person types it, with a comma or a point.
import { leaf } from "./judged.js";

const NUMBER = /^-?\d{1,6}([.,]\d{1,4})?$/;
/** @param {string} text */
export const plainNumber = (text) => {
  let out = text.replace(/\s/g, "").replace("−", "-").replace(",", ".");
  if (out.endsWith(".") && out.indexOf(".") === out.length - 1) out = out.slice(0, -1);
  return out.replace(/^(-?)\./, "$10.");
};
/** @param {string} text */
export const isNumber = (text) => NUMBER.test(plainNumber(text));

/**
 * What of a reading is no number yet: it stays as it was typed, and counts for nothing.
 * @param {Row | undefined} row
 */
export const unread = (row) => {
  const text = leaf(row, "gone") && leaf(row, "as_typed");
  return text && !isNumber(text) ? text : "";
};
