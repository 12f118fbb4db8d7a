// form[data-send-once]: a second press while the first is on its way does nothing. The button
// says so when it has data-busy. Coming back through the history makes the form usable again.
const release = (form) => {
  delete form.dataset.sent;
  for (const button of [...form.elements].filter((item) => item.hasAttribute("aria-disabled"))) {
    button.removeAttribute("aria-disabled");
    if (button.dataset.ready) button.textContent = button.dataset.ready;
  }
};

for (const form of document.querySelectorAll("form[data-send-once]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    const button = event.submitter;
    if (!button) return;
    button.setAttribute("aria-disabled", "true");
    if (button.dataset.busy) {
      button.dataset.ready = button.textContent;
      button.textContent = button.dataset.busy;
    }
  });
  window.addEventListener("pageshow", () => release(form));
}
