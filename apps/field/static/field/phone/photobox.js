// Taking a photo, and the photos that the phone holds.
import { wordsOf } from "./db.js";
import { h } from "./dom.js";
import * as store from "./store.js";
import { _ } from "./words.js";

const STATES = () => ({ new: _("kept, to send"), arrived: _("arrived"), refused: _("refused") });

/** @param {Photo[]} photos @param {() => Promise<unknown>} again */
export const photoList = (photos, again) =>
  photos.length > 0 &&
  h("ul", { class: "photos" }, photos.map((photo) => {
    const image = h("img", { alt: photo.caption || _("Photo"), width: 120, height: 90 });
    void store.photoThumb(photo.id).then((bytes) => {
      if (!bytes) return void (image.hidden = true);
      const url = URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" }));
      image.src = url;
      image.onload = () => URL.revokeObjectURL(url);
      return undefined;
    });
    return h("li", {}, h("figure", {}, image, h("figcaption", { class: "quiet", "data-photo": photo.state }, STATES()[photo.state], photo.why && `: ${photo.why}`,
      photo.state === "refused" && [" ", h("button", { class: "link", type: "button", onclick: () => store.photoAgain(photo.id).then(again) }, _("Try again")), " ", h("button", { class: "link", type: "button", onclick: () => store.photoGone(photo.id).then(again) }, _("Take it off"))])));
  }));

/**
 * Takes a photo; done(photo) once it is on the disk. What the client allows stands beside it; whoever
 * wants none has no camera here.
 * @param {Visit} visit
 * @param {string} sheet
 * @param {string} caption
 * @param {(photo: Photo) => unknown} done
 */
export const photoBox = (visit, sheet, caption, done) => {
  const { photos, photos_words: words } = visit.client;
  if (photos === "no") return h("p", { class: "field caution" }, words);
  const id = `photo-${crypto.randomUUID().slice(0, 8)}`;
  const fault = h("p", { class: "field-error", role: "alert", hidden: true });
  const input = h("input", { id, type: "file", accept: "image/*", capture: "environment", "aria-describedby": words ? `${id}-allowed` : null });
  input.addEventListener("change", async () => {
    const file = input.files?.[0];
    if (!file) return;
    input.disabled = true;
    try {
      const photo = await store.addPhoto(visit.id, sheet, file, caption);
      await done(photo);
    } catch (error) {
      fault.hidden = false;
      fault.textContent = wordsOf(error) === "photos"
        ? _("No room for more photos until some are sent. Text is still kept.")
        : _("This photo could not be kept. Take it again, smaller.");
    } finally {
      // the same file again must count as a new choice
      input.value = "";
      input.disabled = false;
    }
  });
  return h("div", { class: "field" }, h("label", { for: id }, _("Photo")), words && h("p", { class: "field-help", id: `${id}-allowed` }, words), input, fault);
};
