// A call for help: time[data-since] counts on from the server's clock, whatever this one says;
// textarea[data-keep] holds a note in this tab until it is kept, though the page be lost.
const begun = performance.now();

for (const place of document.querySelectorAll("time[data-since]")) {
  const start = (Date.parse(place.dataset.now) - Date.parse(place.dataset.since)) / 1000;
  const show = () => {
    const seconds = Math.max(0, Math.floor(start + (performance.now() - begun) / 1000));
    const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
    const parts = [...(hours ? [hours] : []), minutes, seconds % 60];
    place.textContent = parts.map((part) => String(part).padStart(2, "0")).join(":");
  };
  show();
  setInterval(show, 1000);
}

for (const note of document.querySelectorAll("textarea[data-keep]")) {
  const name = `note-${note.dataset.keep}`;
  const key = note.form?.elements.namedItem("key");
  const held = JSON.parse(sessionStorage.getItem(name) ?? "null");
  // a note that stands on the page was kept; one that does not, was not
  if (held && document.getElementById(`note-${held.key}`)) sessionStorage.removeItem(name);
  else if (held && !note.value) {
    note.value = held.text;
    if (key) key.value = held.key;
  }
  note.addEventListener("input", () => {
    if (note.value.trim()) {
      sessionStorage.setItem(name, JSON.stringify({ key: key?.value ?? "", text: note.value }));
    } else sessionStorage.removeItem(name);
  });
}
