/** The papers of a ticket: in an installed app a PDF is saved, since a page of its own would have no way back. */
if (matchMedia("(display-mode: standalone)").matches || navigator.standalone) {
  for (const link of document.querySelectorAll("a[href*='.pdf']")) link.download = "";
}
for (const form of document.forms) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
}
