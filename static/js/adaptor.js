/**
 * Everything that knows htmx 4: another version, or a box of unsent entries, is put in here.
 * Dispatches on a step `step:saved` (its status in `detail`) and `step:unsaved`; on what is fetched
 * `part:shown` and `part:failed`.
 */
import { fieldsOf } from "./dom.js";
import { addressed } from "./ticket.js";
import { device, uuid7 } from "./uuid.js";

const TIMEOUT = 8000;
const STORED = new Set([200, 412, 422]);

/** Where requests leave the page. An outbox replaces `fetch` and keeps the signature. */
export const transport = { fetch: (url, request) => window.fetch(url, request) };

const attempts = new WeakMap(); // step → {key, body}: the same body goes out under the same key

function keyFor(source, body) {
  const now = new URLSearchParams(body).toString();
  const last = attempts.get(source);
  if (last?.body !== now) attempts.set(source, { key: uuid7(), body: now });
  return attempts.get(source).key;
}

/** A step's fields, as the server wants them: its own names, its revision and how it was passed. */
function stepBody(step) {
  const body = new FormData();
  for (const field of fieldsOf(step)) {
    if (["radio", "checkbox"].includes(field.type) && !field.checked) continue;
    body.append(field.name === `based_on.${step.id}` ? "based_on" : field.name, field.value);
  }
  body.append("passed", step.dataset.passed || "");
  return body;
}

/** Ask htmx to do what the element declares for its own trigger. */
export const trigger = (element, name) => window.htmx.trigger(element, name);

document.addEventListener("htmx:config:request", ({ detail: { ctx } }) => {
  const { sourceElement: source, request } = ctx;
  request.timeout = TIMEOUT;
  request.action = addressed(request.action);
  request.headers.Device = device();
  ctx.fetch = (url, sent) => transport.fetch(url, sent);
  if (!source.matches("[data-step]")) return;
  request.body = stepBody(source);
  ctx.key = request.headers["Idempotency-Key"] = keyFor(source, request.body);
});

document.addEventListener("htmx:before:response", (event) => {
  const { ctx } = event.detail;
  const { status, headers } = ctx.response;
  if (!ctx.key) {
    if (status !== 200) event.preventDefault();
    return;
  }
  ctx.kept = STORED.has(status) && headers.get("Saved-Key") === ctx.key;
  if (status === 400) attempts.delete(ctx.sourceElement);
  if (!ctx.kept) event.preventDefault(); // a login page or a portal also answers 200: nothing of it is shown
});

document.addEventListener("htmx:finally:request", ({ detail: { ctx } }) => {
  const { sourceElement: source, response, key, kept } = ctx;
  if (key && kept) attempts.delete(source);
  const name = key ? (kept ? "step:saved" : "step:unsaved") : ctx.status === "swapped" ? "part:shown" : "part:failed";
  const event = new CustomEvent(name, { bubbles: true, detail: { status: response?.status ?? 0 } });
  setTimeout(() => source.dispatchEvent(event)); // htmx drops what is sent before it has let go of this one
});

/** Post what htmx does not: a photo. Resolves to true once the server repeats the key. */
export async function post(url, body, key) {
  const headers = { Device: device(), "Idempotency-Key": key };
  const request = { method: "POST", body, headers, credentials: "same-origin", signal: AbortSignal.timeout(60000) };
  try {
    const answer = await transport.fetch(url, request);
    return answer.headers.get("Saved-Key") === key ? "kept" : answer.status < 500 ? "refused" : "failed";
  } catch {
    return "failed";
  }
}
