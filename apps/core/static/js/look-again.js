// What is being made on the server: its place on the page is drawn anew every two seconds, and the
// whole page once it has become something else. Without this a link looks again.
const place = document.querySelector("[data-look-again]");
const EVERY_MS = 2000;

const look = async () => {
  const answer = await fetch(location.href, { credentials: "same-origin" });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-look-again]");
  if (!fresh) location.reload();
  else place.replaceChildren(...fresh.childNodes);
};

const again = () => setTimeout(() => look().catch(() => {}).finally(again), EVERY_MS);
if (place) again();
