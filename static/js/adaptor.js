/**
 * Everything that knows htmx 4: another version is put in here. A step's save goes through the outbox.
 * Dispatches on a step `step:saved` (its status in `detail`) and `step:unsaved`; on what is fetched
 * `part:shown` and `part:failed`; `step:kept` and `step:unkept` when the phone has, or cannot take, an entry.
 */
import { draftOf, pairsOf } from "./draft.js";
import { deliver, line } from "./outbox.js";
import * as store from "./store.js";
import { addressed, build, ticketAddress, ticketId } from "./ticket.js";
import { device, uuid7 } from "./uuid.js";

const TIMEOUT = 8000;
const STORED = new Set([200, 412, 422]);

const stored = new WeakMap(); // step → the words that the server has
const attempts = new WeakMap(); // step → {key, body, kept}: the same body goes out under the same key

function attempt(step, pairs) {
  const body = new URLSearchParams(pairs).toString();
  if (attempts.get(step)?.body !== body) attempts.set(step, { key: uuid7(), body });
  return attempts.get(step);
}

/** What a reload left on the phone goes out under the key that it has. */
export function adopt(step, key, pairs) {
  attempts.set(step, { key, body: new URLSearchParams(pairs).toString(), kept: Promise.resolve(true) });
}

const words = (pairs) => new URLSearchParams(pairs.filter(([name]) => name !== "based_on")).toString();

/** Does the server have exactly this already? Leaving a field says "changed" once more. */
export const isStored = (step) => stored.get(step) === words(pairsOf(step));

const stepAddress = (step) => `${ticketAddress()}/steps/${step.id}`;

/** Write what the step holds now to the phone, before any request. Resolves to false if the phone took nothing. */
export function keep(step) {
  const pairs = pairsOf(step);
  const now = attempt(step, pairs);
  now.kept ||= store
    .keep({ key: now.key, ticket: ticketId(), kind: "step", step: step.id, url: stepAddress(step), pairs, build }, draftOf(ticketId()))
    .then(() => true, (error) => tellUnkept(step, now, error));
  now.kept.then((kept) => kept && step.dispatchEvent(new CustomEvent("step:kept", { bubbles: true })));
  return now.kept;
}

function tellUnkept(step, now, error) {
  now.kept = undefined;
  step.dispatchEvent(new CustomEvent("step:unkept", { bubbles: true, detail: { full: error?.name === "QuotaExceededError" } }));
  return false;
}

/** First to the phone, then to the server. Where the phone keeps nothing, straight to the server. */
async function send(kept, key, url, request) {
  if (await kept) {
    const answer = await deliver(ticketId(), key, request.headers);
    if (answer) return answer; // else another page has sent it: the same key gets the same answer
  }
  return line.fetch(url, { ...request, redirect: "manual", signal: AbortSignal.timeout(TIMEOUT) });
}

/** Ask htmx to do what the element declares for its own trigger. */
export const trigger = (element, name) => window.htmx.trigger(element, name);

document.addEventListener("htmx:config:request", ({ detail: { ctx } }) => {
  const { sourceElement: source, request } = ctx;
  request.action = addressed(request.action);
  request.headers.Device = device();
  if (!source.matches("[data-step]")) {
    request.timeout = TIMEOUT;
    ctx.fetch = (url, sent) => line.fetch(url, sent);
    return;
  }
  const pairs = pairsOf(source);
  request.timeout = 0; // the outbox has its own
  request.body = new FormData();
  for (const [name, value] of pairs) request.body.append(name, value);
  ctx.words = words(pairs);
  ctx.key = request.headers["Idempotency-Key"] = attempt(source, pairs).key;
  const kept = keep(source);
  ctx.fetch = (url, sent) => send(kept, ctx.key, url, sent);
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
  if (key && kept && attempts.get(source)?.key === key) attempts.delete(source);
  if (key && kept && response.status !== 412) stored.set(source, ctx.words);
  const name = key ? (kept ? "step:saved" : "step:unsaved") : ctx.status === "swapped" ? "part:shown" : "part:failed";
  const event = new CustomEvent(name, { bubbles: true, detail: { status: response?.status ?? 0 } });
  setTimeout(() => source.dispatchEvent(event)); // htmx drops what is sent before it has let go of this one
});
