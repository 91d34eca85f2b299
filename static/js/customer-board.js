/** The board follows what customers say: it asks the server anew while somebody looks at it. */
const EVERY = 5000;
const list = () => document.querySelector("main > .tickets");

async function follow() {
  const shown = list();
  if (document.hidden || !shown || shown.contains(document.activeElement)) return;
  const answer = await fetch(location.href, { cache: "no-store" });
  if (!answer.ok || answer.redirected) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("main > .tickets");
  if (fresh && fresh.innerHTML !== list()?.innerHTML) list()?.replaceWith(document.adoptNode(fresh));
}

const quietly = () => follow().catch(() => {}); // without a line the board stays as it is
setInterval(quietly, EVERY);
document.addEventListener("visibilitychange", quietly);
