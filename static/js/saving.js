/** Steps save themselves: after a change, on moving on, and again until the server has said yes. */
import { trigger } from "./adaptor.js";
import { word } from "./dom.js";

const PAUSE = 900; // ms of quiet after a change
const AGAIN = [5, 15, 60, 300]; // s between tries while the line is down

const waiting = new Set(); // ids of steps that hold something unsent, in the order of their change
let running = "";
let touched = false;
let tries = 0;
let timer = 0;
let settled = [];

function say(name) {
  const place = document.getElementById("saved");
  if (place.textContent !== word(name)) place.textContent = word(name);
  place.dataset.state = name;
}

function settle(kept) {
  for (const resolve of settled.splice(0)) resolve(kept);
}

function pump() {
  clearTimeout(timer);
  if (running) return;
  const [next] = waiting;
  if (!next) return settle(true);
  running = next;
  touched = false;
  if (!tries) say("saving");
  trigger(document.getElementById(next), "save");
}

/** Something changed in this step: send it after a moment of quiet. */
export function later(step) {
  mark(step);
  clearTimeout(timer);
  timer = setTimeout(pump, PAUSE);
}

function mark(step) {
  if (!waiting.size && !running) say("typing"); // what was said of the last save no longer holds
  waiting.add(step.id);
  if (running === step.id) touched = true; // changed while on its way: it goes out once more
}

/** Send this step now, if it holds something unsent or was just passed. */
export function now(step) {
  if (step) mark(step);
  if (waiting.size) pump();
}

/** Resolves to true when everything typed is with the server, to false when a try failed. */
export function flushed() {
  return new Promise((resolve) => {
    settled.push(resolve);
    pump();
  });
}

export const unsent = () => waiting.size > 0;

document.addEventListener("step:saved", ({ target, detail }) => {
  running = "";
  tries = 0;
  if (!touched) waiting.delete(target.id);
  if (!waiting.size) say(detail.status === 200 ? "saved" : detail.status === 412 ? "clash" : "refused");
  pump();
});

document.addEventListener("step:unsaved", () => {
  running = "";
  say("unsaved");
  settle(false);
  clearTimeout(timer);
  timer = setTimeout(pump, AGAIN[Math.min(tries++, AGAIN.length - 1)] * 1000);
});

window.addEventListener("online", () => now());
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && now());
window.addEventListener("beforeunload", (event) => waiting.size && event.preventDefault());
