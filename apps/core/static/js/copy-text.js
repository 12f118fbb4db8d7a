// button[data-copy]: puts its text on the clipboard and says so in the element that it names
// with data-copy-said. Hidden where the browser gives no clipboard.
for (const button of document.querySelectorAll("button[data-copy]")) {
  if (!navigator.clipboard) {
    button.hidden = true;
    continue;
  }
  button.addEventListener("click", async () => {
    const said = document.getElementById(button.dataset.copySaid);
    try {
      await navigator.clipboard.writeText(button.dataset.copy);
      if (said) said.textContent = button.dataset.copyDone;
    } catch {
      if (said) said.textContent = button.dataset.copyFailed;
    }
  });
}
