// j on a page whose focus is nowhere yet goes to the first row of the first [data-list].
document.addEventListener("keydown", (event) => {
  if (event.key !== "j" || event.ctrlKey || event.metaKey || event.altKey) return;
  const at = document.activeElement;
  if (at && at !== document.body && at.id !== "main") return;
  const first = document.querySelector("[data-list] [data-list-item]");
  if (!first) return;
  event.preventDefault();
  first.focus();
  first.scrollIntoView({ block: "nearest" });
});
