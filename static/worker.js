/*
 * The service worker: what has no customer in it, for when there is no line. It answers GET only; what is
 * sent goes through the page. THIS (build, root, files) is put before it by the server.
 */
const SHELL = `shell-${THIS.build}`;
const FILES = "files";
const { root } = THIS;
const WIZARD = `${root}/walkin`, OFFLINE = `${root}/offline`, STATIC = `${root}/static/`;
const TICKET = new RegExp(`^${root}/tickets/[0-9a-f-]{36}$`);
const PATIENCE = { [WIZARD]: 2000, [`${root}/`]: 4000 }; // ms, for the pages that the phone can stand in for

self.addEventListener("install", (event) => event.waitUntil(fill()));
self.addEventListener("activate", (event) => event.waitUntil(tidy().then(() => self.clients.claim())));
self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
  if (event.data === "make ready") event.waitUntil(ready());
});

async function fill() {
  const files = await caches.open(FILES);
  const missing = [];
  for (const file of THIS.files) if (!(await files.match(file))) missing.push(file);
  await files.addAll(missing);
  await (await caches.open(SHELL)).add(new Request(OFFLINE, { cache: "reload" }));
  await ready();
}

/** The blank wizard, if it can be had and is not there yet. */
async function ready() {
  const shell = await caches.open(SHELL);
  if (!(await shell.match(WIZARD))) await fetch(WIZARD, { redirect: "manual" }).then(keepWizard, () => {});
}

/** Only the server's own blank wizard is kept: no login page, no portal. */
async function keepWizard(answer) {
  if (!answer.ok || !answer.headers.has("Build")) return;
  const copy = answer.clone(); // at once: the page begins to read the answer
  await (await caches.open(SHELL)).put(WIZARD, copy);
}

async function tidy() {
  for (const name of await caches.keys()) if (name !== SHELL && name !== FILES) await caches.delete(name);
  const files = await caches.open(FILES), kept = new Set(THIS.files);
  for (const request of await files.keys()) if (!kept.has(new URL(request.url).pathname)) await files.delete(request);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (pathname.startsWith(STATIC)) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, request, pathname));
});

async function file(request) {
  const known = await caches.match(request.url, { cacheName: FILES, ignoreVary: true });
  if (known) return known;
  const answer = await fetch(request);
  const lasting = (answer.headers.get("Cache-Control") || "").includes("immutable");
  if (answer.status === 200 && lasting) await (await caches.open(FILES)).put(request.url, answer.clone()).catch(() => {});
  return answer;
}

/** From the server; where it does not answer, the blank wizard for a walk-in or a ticket, else the phone's own board. */
async function page(event, request, pathname) {
  const wizard = pathname === WIZARD || TICKET.test(pathname);
  const kept = await caches.match(wizard ? WIZARD : OFFLINE, { cacheName: SHELL, ignoreVary: true });
  const asked = fetch(request);
  if (pathname === WIZARD) event.waitUntil(asked.then(keepWizard).catch(() => {}));
  try {
    const answer = await within(asked, kept && PATIENCE[pathname]);
    return kept && wizard && isOthers(answer, pathname) ? kept : answer;
  } catch {
    return kept || Response.error();
  }
}

/** A proxy without its server, or a portal in the server's place. */
const isOthers = (answer, pathname) => [502, 503, 504].includes(answer.status)
  || (pathname === WIZARD && answer.ok && !answer.headers.has("Build"));

/** `promise`, or a rejection after so many ms; without a number there is all the time. */
function within(promise, limit) {
  if (!limit) return promise;
  return Promise.race([promise, new Promise((_, reject) => setTimeout(reject, limit, new Error("slow")))]);
}
