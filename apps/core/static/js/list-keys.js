// [data-list]: while the focus is inside, j or arrow down goes to the next row's link and
// k or arrow up to the one before; Home and End go to the ends. Links open as links do.
const rowsOf = (list) =>
  [...list.querySelectorAll("[data-list-item]")].filter((row) => row.offsetParent !== null);

const step = (key, here, count) => {
  if (key === "j" || key === "ArrowDown") return Math.min(here + 1, count - 1);
  if (key === "k" || key === "ArrowUp") return Math.max(here - 1, 0);
  if (key === "Home") return 0;
  if (key === "End") return count - 1;
  return null;
};

for (const list of document.querySelectorAll("[data-list]")) {
  list.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.matches("input, select, textarea")) return;
    const rows = rowsOf(list);
    const row = event.target.closest("[data-list-item], li, tr");
    const here = rows.findIndex((item) => item === row || row?.contains(item));
    const next = step(event.key, here, rows.length);
    if (next === null || next === here) return;
    const link = rows[next].matches("a, button") ? rows[next] : rows[next].querySelector("a, button");
    if (!link) return;
    event.preventDefault();
    link.focus();
    link.scrollIntoView({ block: "nearest" });
  });
}
