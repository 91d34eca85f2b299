/** The quote's own page: its PDF is handed on as a file, since a page of its own would trap an installed app. */
const button = document.getElementById("share");
const { pdf, name } = button.dataset;
let file;

/** Fetched ahead: a share sheet opens only inside the tap, without a wait for the line. */
async function prepare() {
  const answer = await fetch(pdf);
  if (!answer.ok || answer.headers.get("Content-Type") !== "application/pdf") return;
  const fresh = new File([await answer.arrayBuffer()], name, { type: "application/pdf" });
  if (navigator.canShare({ files: [fresh] })) [file, button.hidden] = [fresh, false];
}

button.addEventListener("click", () => navigator.share({ files: [file] }).catch(() => {})); // it may never settle

if (navigator.canShare) prepare().catch(() => {});
if (matchMedia("(display-mode: standalone)").matches || navigator.standalone) {
  for (const link of document.querySelectorAll(".papers a[href*='.pdf']")) link.download = name;
}
