// li[data-move] of a plan is dragged to another place in ol[data-day]: form#put asks the server, and
// the next page says what it costs and breaks. By keys the link beside the stop does the same.
const put = document.getElementById("put");
let held = null;

/** The stop before which the pointer would put what is held; null: at the end of the list. */
const before = (list, y) =>
  [...list.children].find((row) => {
    const box = row.getBoundingClientRect();
    return row !== held && y < box.top + box.height / 2;
  }) ?? null;

const unmark = () => {
  for (const row of document.querySelectorAll(".drop-before, .drop-after"))
    row.classList.remove("drop-before", "drop-after");
};

const end = () => {
  unmark();
  held?.classList.remove("held");
  held = null;
};

document.addEventListener("dragstart", (event) => {
  held = event.target instanceof Element ? event.target.closest("li[data-move]") : null;
  if (!held) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", held.textContent.trim());
  held.classList.add("held");
});
document.addEventListener("dragend", end);

for (const list of document.querySelectorAll("ol[data-day]")) {
  list.addEventListener("dragover", (event) => {
    if (!held) return;
    event.preventDefault();
    unmark();
    const next = before(list, event.clientY);
    if (next) next.classList.add("drop-before");
    else list.lastElementChild?.classList.add("drop-after");
  });
  list.addEventListener("drop", (event) => {
    if (!held) return;
    event.preventDefault();
    const rest = [...list.children].filter((row) => row !== held);
    const next = before(list, event.clientY);
    const [position, was] = [next ? rest.indexOf(next) : rest.length, [...list.children].indexOf(held)];
    const moved = position !== was;
    const action = held.dataset.move;
    end();
    if (!moved) return;
    put.action = action;
    for (const [name, value] of Object.entries({ day: list.dataset.day, technicians: list.dataset.who, position }))
      put.elements.namedItem(name).value = value;
    put.submit();
  });
}
