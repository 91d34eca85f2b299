/**
 * Everything that knows htmx 4, which is fetched when there is something to send: another version is put in here. Edits
 * go out through `#sender`; dispatches `step:saved` on each step that an answer is for, and `part:shown` and
 * `part:failed` on what is fetched.
 */
import { all, make } from "./dom.js";
import { line } from "./outbox.js";
import { addressed } from "./ticket.js";
import { device } from "./uuid.js";

const TIMEOUT = 8000;
const HTMX = new URL("../vendor/htmx/htmx-4.0.1.min.js", import.meta.url).href;
const sender = document.getElementById("sender");
let outgoing; // {body, headers, resolve, reject}: one request at a time, the outbox sees to it

let loading;

/** Have htmx here. Rejects where it cannot be fetched now; the next call tries again. */
export function ready() {
  loading ||= fetchFirst().then(run);
  loading.catch(() => (loading = undefined));
  return loading;
}

/** A script element waits for a silent line without end; a request does not, and leaves the script in the cache. */
async function fetchFirst() {
  const answer = await line.fetch(HTMX, { signal: AbortSignal.timeout(TIMEOUT) });
  await answer.arrayBuffer();
}

const run = () => new Promise((resolve, reject) => {
  const script = make("script", { src: HTMX });
  script.addEventListener("load", () => setTimeout(resolve)); // it looks through the page a moment after it has run
  script.addEventListener("error", () => reject(new TypeError("the line is down")));
  document.head.append(script);
});

/** Ask htmx to do what the element declares for its own trigger. */
export const trigger = (element, name) => ready().then(
  () => window.htmx.trigger(element, name),
  () => after(element, "part:failed"),
);

/** Post a form through htmx. Resolves to the answer once its fragments are in the page. */
export async function send(url, body, headers) {
  await ready().catch((error) => {
    after(sender, "step:unsaved");
    throw error;
  });
  return new Promise((resolve, reject) => {
    outgoing = { body, headers, resolve, reject };
    window.htmx.trigger(sender, "send");
  });
}

function post(ctx, sent) {
  const { body, headers } = sent;
  ctx.request.timeout = 0;
  ctx.request.body = new FormData(); // htmx makes of it what the element's encoding says
  for (const [name, value] of body) ctx.request.body.append(name, value);
  Object.assign(ctx.request.headers, headers);
  Object.assign(ctx, { sent, key: headers["Idempotency-Key"] });
  ctx.fetch = async (url, request) => {
    const answer = await line.fetch(url, { ...request, redirect: "manual", signal: AbortSignal.timeout(TIMEOUT) });
    ctx.answer = answer.clone();
    return answer;
  };
}

document.addEventListener("htmx:config:request", ({ detail: { ctx } }) => {
  const { sourceElement: source, request } = ctx;
  request.action = addressed(request.action);
  request.headers.Device = device();
  if (source === sender) return post(ctx, outgoing);
  request.timeout = TIMEOUT;
  ctx.fetch = (url, sent) => line.fetch(url, sent);
  return undefined;
});

document.addEventListener("htmx:before:response", (event) => {
  const { ctx } = event.detail;
  const { status, headers } = ctx.response;
  ctx.taken = status === 200 && (!ctx.key || headers.get("Saved-Key") === ctx.key);
  if (!ctx.taken) event.preventDefault(); // a login page or a portal also answers 200: nothing of it is shown
});

document.addEventListener("htmx:finally:request", ({ detail: { ctx } }) => {
  const { sourceElement: source, key, taken, sent, answer, text = "" } = ctx;
  if (!key) return after(source, ctx.status === "swapped" ? "part:shown" : "part:failed");
  setTimeout(() => (answer ? sent.resolve(answer) : sent.reject(new TypeError("the line is down"))));
  if (!taken) return after(source, "step:unsaved");
  for (const step of all("[data-step]")) if (text.includes(`id="found-${step.id}"`)) after(step, "step:saved");
  return undefined;
});

/** htmx drops what is sent before it has let go of this one. */
function after(element, name) {
  setTimeout(() => element.dispatchEvent(new CustomEvent(name, { bubbles: true })));
}

