// What may be said from the road: the paths of these operations, which are no answers of a checklist.
const SAID = new Set(["on_my_way", "running_late"]);
/** @param {string} path */
export const isSaid = (path) => SAID.has(path);
