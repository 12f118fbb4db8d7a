// A link to a place inside a closed <details> opens it, also where the browser does not by itself.
document.addEventListener("click", (event) => {
  const link = event.target.closest('a[href^="#"]');
  const target = link && document.getElementById(link.hash.slice(1));
  const closed = target?.closest("details:not([open])");
  if (closed) closed.open = true;
});
