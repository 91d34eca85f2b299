/** What a screen shows, read from the fields themselves: part → value. Put into every page of a walk before its own. */
window.walkScreen = (() => {
  const OWN = /^(base|shown|pins|photos)\.|^based_on/;
  const LISTS = { gauges: (field, at) => `gauges/${at + 1}` };

  function partOf(field, at) {
    if (field.type === "checkbox") return `${field.name}/${field.value}`;
    if (LISTS[field.name]) return LISTS[field.name](field, at);
    return field.name.replace(".", "/");
  }

  function read() {
    const parts = {}, counts = {};
    for (const field of document.querySelectorAll("#wizard [data-step] :is(input, textarea, select)[name]")) {
      if (OWN.test(field.name) || ["hidden", "file"].includes(field.type) || field.name === "buzz_at") continue;
      const at = (counts[field.name] = (counts[field.name] ?? -1) + 1), part = partOf(field, at);
      if (field.type === "radio") parts[part] = field.checked ? field.value : parts[part] || "";
      else parts[part] = field.type === "checkbox" ? (field.checked ? "yes" : "") : field.value.trim() && field.value;
    }
    const own = document.querySelector("dialog[open] input[data-part]");
    if (own) parts[own.dataset.part] = own.value.trim() && own.value;
    return parts;
  }

  function clashes() {
    return Object.fromEntries([...document.querySelectorAll(".clash[data-part]")].map((box) =>
      [box.dataset.part, [...box.querySelectorAll("[data-id]")].map((one) => one.dataset.value)]));
  }

  let before = {}, beside = {}, touches = [];
  for (const kind of ["pointerdown", "beforeinput"]) {
    document.addEventListener(kind, ({ timeStamp }) => {
      before = read();
      beside = clashes();
      if (kind === "pointerdown") touches = [...touches.slice(-1), timeStamp];
    }, { capture: true, passive: true });
  }

  function kept() {
    return new Promise((resolve) => {
      if (!window.indexedDB) return resolve([]);
      const opening = indexedDB.open("tallyfret-edits");
      opening.onerror = () => resolve([]);
      opening.onupgradeneeded = () => opening.transaction.abort();
      opening.onsuccess = () => {
        const under = opening.result.transaction(["edits", "photos"]), found = [];
        const ticket = location.pathname.split("/").pop();
        under.objectStore("edits").index("ticket").getAll(ticket).onsuccess = ({ target }) => found.push(...target.result.map(({ part, value, state }) => ({ part, value, state })));
        under.objectStore("photos").index("ticket").getAll(ticket).onsuccess = ({ target }) => found.push(...target.result.map(({ id, state }) => ({ photo: id, state })));
        under.oncomplete = () => {
          opening.result.close();
          resolve(found);
        };
      };
    });
  }

  return {
    seen: () => ({ before, beside, after: read() }),
    now: () => ({ parts: read(), clashes: clashes() }),
    between: () => (touches.length > 1 ? touches[1] - touches[0] : Infinity),
    foot: () => ({ state: document.getElementById("saved").dataset.state || "", words: document.getElementById("saved").textContent }),
    kept,
  };
})();
