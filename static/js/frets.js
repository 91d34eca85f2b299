/** Frets by tapping a drawn fretboard: wear, loose frets and buzzes, written into the step's own fields. */
import { all, answers, fill, make, word } from "./dom.js";
import { fetched } from "./fetched.js";
import { bringIn, ruled } from "./rule.js";

const { open, sheet, toggle } = await fetched("sheet");

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 358, HEIGHT = 96, NUT = 6;

/** Where fret n stands, as a share of the scale (equal temperament). */
export const place = (n) => 1 - 2 ** (-n / 12);

/** The fret that a tap at `share` of the board's length means: the finger lies before its fret. */
export function fretAt(share, frets) {
  for (let n = 1; n <= frets; n++) if (share <= place(n) / place(frets)) return n;
  return frets;
}

export class FretMap {
  constructor(step) {
    this.step = step;
    this.questions = all(".q", step).filter((q) => q.querySelector(".cells"));
    this.number = 1;
    this.drawing = document.createElementNS(SVG, "svg");
    this.drawing.setAttribute("viewBox", `0 0 ${WIDTH} ${HEIGHT}`);
    this.drawing.setAttribute("aria-hidden", "true");
    this.drawing.addEventListener("click", (event) => this.tapped(event));
    this.key = make("p", { class: "key", role: "status" });
    const start = make("button", { type: "button", class: "btn" }, word("board"));
    start.addEventListener("click", () => this.show(this.number));
    this.list = make("details", { class: "lines card" }, make("summary", {}, word("list")));
    const map = make("div", { class: "map" }, this.drawing, this.key);
    const title = make("h2", {}, word("frets"));
    this.questions[0].before(make("div", { class: "q" }, title, map, start, this.list));
    this.list.append(make("div", { class: "sheet" }, ...this.questions));
    this.content = make("div");
    this.dialog = sheet("", this.content);
    document.body.append(this.dialog);
    for (const kind of ["change", "step:shown-anew"]) step.addEventListener(kind, () => this.draw());
    this.draw();
  }

  get frets() { return Math.min(Math.max(Math.round(Number(answers("fret_count")[0])) || 20, 8), 24); }
  get strings() { return Math.min(Math.max(Math.round(Number(answers("string_count")[0])) || 6, 3), 12); }
  depth(n) { return this.step.querySelector(`[name="fret_wear.${n}"]`); }
  loose(n) { return this.step.querySelector(`[name="loose_frets"][value="${n}"]`); }
  buzzes() { return answers("buzz_at", this.step); }

  /** Put a "string/fret" pair in, or take it out. */
  buzz(pair, on) {
    const fields = all('[name="buzz_at"]', this.step);
    if (!on) return fields.filter((field) => field.value.trim() === pair).forEach((field) => fill(field, ""));
    let free = fields.find((field) => !field.value.trim());
    if (!free) {
      free = fields.at(-1).cloneNode();
      free.value = "";
      fields.at(-1).after(free);
    }
    fill(free, pair);
  }

  tapped(event) {
    const box = this.drawing.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * WIDTH;
    this.show(x < NUT + 2 ? 0 : fretAt((x - NUT) / (WIDTH - NUT), this.frets));
  }

  show(n) {
    const left = this.dialog.open && this.content.firstElementChild?.scrollLeft;
    this.number = n;
    const strip = this.strip();
    this.content.replaceChildren(strip, ...this.asked(n));
    open(this.dialog, n ? `${word("fret")} ${n}` : word("openString"));
    all(".rule", this.content).forEach(bringIn);
    if (left !== false) strip.scrollLeft = left; // it was under the thumb a moment ago
  }

  /** Every fret in 48 px, however narrow it is on the drawing. */
  strip() {
    const row = make("div", { class: "rule", role: "group", "aria-label": word("fret") });
    for (let n = 0; n <= this.frets; n++) {
      const label = n === 0 ? word("openString") : String(n);
      row.append(toggle(label, n === this.number, () => this.show(n)));
    }
    return row;
  }

  asked(n) {
    const parts = [];
    const depth = n && this.depth(n);
    if (depth) parts.push(make("div", { class: "one ruled" }, make("h3", {}, word("depth")), ...this.depthRule(depth)));
    const loose = n && this.loose(n);
    if (loose) parts.push(make("div", { class: "row" }, toggle(word("loose"), loose.checked, (button) => {
      loose.click();
      button.setAttribute("aria-pressed", String(loose.checked));
    })));
    if (this.step.querySelector('[name="buzz_at"]')) {
      const row = make("div", { class: "row thin", role: "group", "aria-label": word("buzzes") });
      for (let string = this.strings; string >= 1; string--) row.append(this.buzzToggle(`${string}/${n}`, string));
      parts.push(make("div", { class: "one" }, make("h3", {}, word("buzzes")), row));
    }
    return parts;
  }

  depthRule(field) {
    const values = (field.closest("[data-depths]").dataset.depths || "").split("|").filter(Boolean);
    const list = make("datalist", { id: "depths" }, ...values.map((value) => make("option", { value })));
    const own = make("input", { list: "depths", "data-own": word("own"), "data-label": word("depth"), "data-part": field.name.replace(".", "/"), value: field.value });
    own.addEventListener("input", () => {
      field.value = own.value; // typed and not left is kept too
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
    own.addEventListener("change", () => {
      field.value = own.value;
      field.dispatchEvent(new Event("change", { bubbles: true }));
    });
    const holder = make("div", { class: "one" }, own, list);
    document.body.append(holder); // a field knows its list only while both stand in the page
    ruled(own);
    return [...holder.children, holder.remove()].filter((part) => part instanceof Element);
  }

  buzzToggle(pair, string) {
    return toggle(String(string), this.buzzes().includes(pair), (button) => {
      const on = button.getAttribute("aria-pressed") !== "true";
      this.buzz(pair, on);
      button.setAttribute("aria-pressed", String(on));
    });
  }

  draw() {
    const { frets, strings } = this;
    const x = (n) => NUT + (place(n) / place(frets)) * (WIDTH - NUT - 2);
    const y = (string) => 14 + ((string - 1) * (HEIGHT - 28)) / (strings - 1);
    const shapes = [`<path class="wood" d="M${NUT} 6H${WIDTH}V${HEIGHT - 6}H${NUT}z"/>`, `<path class="nut" d="M0 5h${NUT}v${HEIGHT - 10}H0z"/>`];
    for (const n of [3, 5, 7, 9, 12, 15, 17, 19, 21]) {
      if (n <= frets) shapes.push(`<circle class="inlay" cx="${(x(n) + x(n - 1)) / 2}" cy="${HEIGHT / 2}" r="4"/>`);
    }
    for (let n = 1; n <= frets; n++) {
      const worn = this.depth(n)?.value.trim(), loose = this.loose(n)?.checked;
      shapes.push(`<path class="fret${worn ? " worn" : ""}" d="M${x(n)} 6V${HEIGHT - 6}"/>`);
      if (loose) shapes.push(`<circle class="loose" cx="${x(n)}" cy="13" r="5"/><circle class="loose" cx="${x(n)}" cy="${HEIGHT - 13}" r="5"/>`);
    }
    for (let string = 1; string <= strings; string++) shapes.push(`<path class="string" d="M0 ${y(string)}H${WIDTH}"/>`);
    for (const [string, n] of this.buzzes().map((pair) => pair.split("/").map(Number))) {
      if (string >= 1 && string <= strings && n >= 0 && n <= frets) {
        shapes.push(`<circle class="buzz" cx="${n ? (x(n) + x(n - 1)) / 2 : NUT}" cy="${y(string)}" r="5"/>`);
      }
    }
    this.drawing.innerHTML = shapes.join("");
    this.tell();
  }

  tell() {
    const worn = [], loose = [];
    for (let n = 1; n <= 24; n++) {
      const depth = this.depth(n)?.value.trim();
      if (depth) worn.push(`${n}: ${depth}`);
      if (this.loose(n)?.checked) loose.push(n);
    }
    const told = this.questions.map((question, i) => [question.querySelector("legend").textContent, [worn, loose, this.buzzes()][i]]);
    this.key.replaceChildren(...told.filter(([, found]) => found?.length).flatMap(([name, found]) => [make("b", {}, `${name} `), `${found.join(", ")} `]));
    if (this.questions.some((question) => question.querySelector(".problem")?.textContent)) this.list.open = true;
  }
}
