/** Damage pinned on a drawing of the body; each pin is a row of ordinary fields with a sheet over it. */
import { all, fill, make, word } from "./dom.js";
import { fetched } from "./fetched.js";
import { addPin } from "./parts.js";
import { bringIn, ruled } from "./rule.js";

const { buttonsFor, open, sheet } = await fetched("sheet");

const SVG = "http://www.w3.org/2000/svg";
const VIEWS = ["top", "back", "side", "neck"];
const VIEW_OF = { top: "top", bridge: "top", back: "back", side: "side", neck: "neck", headstock: "neck" };
const BY_LENGTH = ["crack", "seam", "binding"]; // what is counted by its length, not by pieces
const HEAD = 26; // hundredths of the neck drawing that show the headstock

export class PinMap {
  constructor(box) {
    this.box = box;
    this.list = box.querySelector(".pinned");
    this.view = "top";
    this.views = make("div", { class: "views", role: "group" });
    for (const view of VIEWS) this.views.append(this.viewButton(view));
    this.art = document.createElementNS(SVG, "svg");
    this.art.setAttribute("viewBox", "0 0 200 240");
    this.art.setAttribute("aria-hidden", "true");
    this.body = make("div", { class: "body" }, this.art);
    this.body.addEventListener("click", (event) => this.tapped(event));
    this.note = make("p", { class: "how" });
    const add = make("button", { type: "button", class: "btn" }, word("add"));
    add.addEventListener("click", () => this.add({ part: this.view }));
    this.list.before(this.views, this.body, this.note, add);
    this.rows = [];
    box.closest("[data-step]").addEventListener("step:shown-anew", () => this.draw());
    document.addEventListener("change", (event) => event.target.name === "family" && this.draw());
    this.draw();
  }

  viewButton(view) {
    const button = make("button", { type: "button", value: view }, word(view === "back" ? "backView" : view));
    button.addEventListener("click", () => {
      this.view = view;
      this.draw();
    });
    return button;
  }

  /** A place on the drawing: x and y in hundredths of it. */
  tapped(event) {
    const frame = this.art.getBoundingClientRect();
    const scale = Math.min(frame.width / 200, frame.height / 240);
    const left = frame.left + (frame.width - 200 * scale) / 2;
    const x = Math.round(((event.clientX - left) / (200 * scale)) * 100);
    const y = Math.round(((event.clientY - frame.top) / (240 * scale)) * 100);
    if (x < 0 || x > 100 || y < 0 || y > 100) return;
    this.add({ x, y, part: this.view === "neck" && y < HEAD ? "headstock" : this.view });
  }

  add({ part, x, y }) {
    const row = this.dress(addPin(this.box.closest("[data-step]")));
    row.fields.part.value = part;
    if (x !== undefined) [row.fields.x.value, row.fields.y.value] = [x, y];
    this.rows.push(row);
    row.fields.part.dispatchEvent(new Event("change", { bubbles: true }));
    this.show(row);
    this.draw();
  }

  dress(item) {
    const fields = {};
    for (const field of all("[name]", item)) fields[field.name.split(".")[2]] = field;
    const content = item.querySelector(".sheet");
    all("select", content).forEach(buttonsFor);
    const remove = make("button", { type: "button", class: "btn" }, word("remove"));
    const dialog = sheet("", content, remove);
    const button = make("button", { type: "button" });
    item.append(button, dialog);
    all("input[list]", content).forEach(ruled);
    const row = { item, fields, number: 0, button, dialog };
    button.addEventListener("click", () => this.show(row));
    remove.addEventListener("click", () => this.remove(row));
    dialog.addEventListener("change", ({ target }) => {
      if (target === fields.kind) this.tidy(row);
      this.draw();
    });
    dialog.addEventListener("close", () => button.focus());
    return row;
  }

  show(row) {
    this.fit(row);
    open(row.dialog, `${word("place")} ${row.number}`);
    all(".rule", row.dialog).forEach(bringIn);
  }

  remove(row) {
    row.dialog.close();
    this.rows = this.rows.filter((other) => other !== row);
    row.item.remove();
    this.draw();
    this.box.dispatchEvent(new Event("change", { bubbles: true }));
  }

  /** Ask for a length or a number of pieces, whichever the kind is counted by. */
  fit({ fields }) {
    const long = BY_LENGTH.includes(fields.kind.value);
    fields.size.closest(".one").hidden = !long;
    fields.count.closest(".one").hidden = long || !fields.kind.value;
  }

  /** Another kind was chosen: what it is not counted by goes. */
  tidy({ fields }) {
    const long = BY_LENGTH.includes(fields.kind.value);
    if (long && fields.count.value) fill(fields.count, "");
    if (!long && fields.size.value) fill(fields.size, "");
  }

  draw() {
    const families = all("[name=family]");
    const family = families.find((one) => one.checked) || families[0]; // until one is chosen, the book's first
    const drawn = family?.dataset.drawn;
    this.body.hidden = this.views.hidden = !drawn; // a family without a drawing has the list alone
    this.art.innerHTML = `<use href="${this.box.dataset.bodies}#${drawn}-${this.view}"/>`;
    this.note.textContent = drawn ? word(`${this.view}Note`) : "";
    for (const button of this.views.children) button.setAttribute("aria-pressed", String(button.value === this.view));
    all(".spot", this.body).forEach((spot) => spot.remove());
    this.gather();
    for (const row of this.rows) {
      this.fit(row);
      this.tell(row);
      this.spot(row);
    }
  }

  /** The rows as they stand in the page, which may have come from elsewhere, and their numbers for people. */
  gather() {
    this.rows = all(".pin", this.list).map((item) => this.rows.find((row) => row.item === item) || this.dress(item));
    this.rows.forEach((row, at) => (row.number = at + 1));
  }

  tell({ button, fields, number }) {
    const shown = (select) => (select.value ? select.selectedOptions[0].text : "");
    const rest = [shown(fields.state), fields.size.value, fields.count.value && `× ${fields.count.value}`, shown(fields.part)];
    const words = make("span", {}, make("b", {}, shown(fields.kind) || "?"), ` ${rest.filter(Boolean).join(", ")}`);
    button.replaceChildren(make("i", {}, String(number)), words);
  }

  spot({ fields, number }) {
    if (!fields.x.value || VIEW_OF[fields.part.value] !== this.view) return;
    const spot = make("i", { class: `spot ${fields.state.value}`, "aria-hidden": "true" }, String(number));
    const wide = this.body.clientWidth || 1, high = this.art.clientHeight || 1;
    const scale = Math.min(wide / 200, high / 240);
    spot.style.left = `${(wide - 200 * scale) / 2 + fields.x.value * 2 * scale}px`;
    spot.style.top = `${fields.y.value * 2.4 * scale}px`;
    this.body.append(spot);
  }
}
