// What the server would refuse at the end of a visit, said while the person still stands there.
import { leaf } from "./judged.js";
import { _ } from "./words.js";

/** @typedef {{ says: string, url: string }} Lack */

/** @param {Record<string, Row>} rows */
const standing = (rows) => Object.entries(rows).filter(([, row]) => !leaf(row, "gone"));

/** @param {Work} work @returns {Lack[]} */
const findings = ({ rows, list }) =>
  standing(rows.findings)
    // a row with nothing in it says nothing
    .filter(([, row]) => !leaf(row, "sign") && !leaf(row, "text")?.trim() && (leaf(row, "component") || leaf(row, "photo_ids")?.length))
    .map(([key]) => ({ says: _("What was seen: choose a sign or say it in words, or take it back"), url: `${list}seen/${key}/` }));

/** @param {Work} work @returns {Lack[]} */
const swaps = ({ rows, list }) =>
  standing(rows.swaps).flatMap(([, row]) => {
    const part = leaf(row, "component"), serial = leaf(row, "serial")?.trim();
    if (part && serial) return [];
    if (part) return [{ says: _("Part swapped: the new part's serial is needed"), url: `${list}swap/` }];
    const said = serial || leaf(row, "make")?.trim() || leaf(row, "reason")?.trim();
    return said ? [{ says: _("Part swapped: say which part it was"), url: `${list}swap/` }] : [];
  });

/** @param {Work} work */
export const lacking = (work) => [...findings(work), ...swaps(work)];
