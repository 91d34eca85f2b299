/** How much the phone keeps, in words. */
import { word } from "./dom.js";

const some = (n, name) => word(n === 1 ? `${name}One` : `${name}s`).replace("{n}", n);

/** "3 steps, 1 photo" */
export function counted(entries) {
  const steps = new Set(entries.filter((one) => one.kind === "step").map((one) => one.ticket + one.step)).size;
  const photos = entries.filter((one) => one.kind === "photo").length;
  return [steps && some(steps, "step"), photos && some(photos, "photo")].filter(Boolean).join(", ");
}
