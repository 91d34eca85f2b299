/** The customer's page: it says once that a person has it open, takes a signature, and sends a form once. */
const WIDTH = 600, HEIGHT = 200, LONGEST = 20000;

const page = document.querySelector("[data-seen]");
if (page) fetch(page.dataset.seen, { method: "POST", keepalive: true }).catch(() => {}); // the next visit says it

/** Strokes as `x,y x,y;x,y …` in a field of 600 by 200, whatever the size on the screen. */
function pad(box) {
  const canvas = box.querySelector("canvas"), drawn = box.querySelector("[name=drawn]");
  const pen = canvas.getContext("2d");
  let strokes = [], stroke = null;
  Object.assign(pen, { lineWidth: 3, lineCap: "round", lineJoin: "round", strokeStyle: "#1E1B18" });
  box.hidden = false;
  box.dataset.ready = "yes";

  const point = (event) => {
    const place = canvas.getBoundingClientRect();
    const within = (at, size, most) => Math.max(0, Math.min(most - 1, Math.round((at / size) * most)));
    return [within(event.clientX - place.left, place.width, WIDTH), within(event.clientY - place.top, place.height, HEIGHT)];
  };
  const written = () => strokes.map((one) => one.map((at) => at.join(",")).join(" ")).join(";");

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    stroke = [point(event)];
    strokes.push(stroke);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!stroke) return;
    const next = point(event), last = stroke.at(-1);
    if (Math.hypot(next[0] - last[0], next[1] - last[1]) < 3) return;
    pen.beginPath();
    pen.moveTo(...last);
    pen.lineTo(...next);
    pen.stroke();
    stroke.push(next);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, () => {
      stroke = null;
      if (written().length <= LONGEST) drawn.value = written();
    });
  }
  box.querySelector(".clear").addEventListener("click", () => {
    [strokes, drawn.value] = [[], ""];
    pen.clearRect(0, 0, WIDTH, HEIGHT);
  });
}

let name = ""; // typed once, kept when a job more or less makes the form anew; the signature is not
document.addEventListener("input", (event) => {
  if (event.target.id === "yes-name") name = event.target.value;
});

function open() {
  document.querySelectorAll(".sign:not([data-ready])").forEach(pad);
  const field = document.getElementById("yes-name");
  if (field && !field.value) field.value = name;
}
open();
new MutationObserver(open).observe(document.getElementById("main"), { childList: true, subtree: true });

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.hasAttribute("hx-post")) return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});
addEventListener("pageshow", () => document.querySelectorAll("[data-sent]").forEach((form) => delete form.dataset.sent));
