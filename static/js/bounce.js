/** A tap that bounces: the second touch of one place within a moment is no second answer, whatever lies there by now. */
const MOMENT = 600; // ms
const NEAR = 24; // px
const ANSWERS = ".rule button, .choices input, .choices button, .cells input, .sheet button, .pass button[name]";

let last = { at: -MOMENT }, again = false, answered;

document.addEventListener("pointerdown", ({ timeStamp: at, clientX: x, clientY: y }) => {
  again = at - last.at < MOMENT && Math.hypot(x - last.x, y - last.y) < NEAR;
  last = { at, x, y };
}, { capture: true, passive: true });

function bounced(target, timeStamp) {
  const same = target === answered?.target && timeStamp - answered.at < MOMENT;
  answered = { target, at: timeStamp };
  return same || (again && !target.closest(".pass"));
}

document.addEventListener("click", (event) => {
  const target = event.isTrusted && event.target.closest?.(ANSWERS);
  if (!target || target.matches("[type=text], input:not([type])") || !bounced(target, event.timeStamp)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, { capture: true });
