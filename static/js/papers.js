/** The papers of a ticket: in an installed app a PDF is saved, since a page of its own would have no way back. */
const AGAIN = 3000; // a form that brought a file leaves its page standing, and may be sent again

if (matchMedia("(display-mode: standalone)").matches || navigator.standalone) {
  for (const link of document.querySelectorAll("a[href*='.pdf']")) link.download = "";
}
for (const form of document.forms) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, AGAIN);
  });
}
