/** Who is who: the PIN's own keys, and forms that are sent once. */
const pad = document.getElementById("pad"), pin = document.getElementById("pin");

if (pad) {
  pad.hidden = false;
  pin.inputMode = "none"; // our keys are larger than the phone's; a keyboard that is plugged in still types
  pad.addEventListener("click", ({ target }) => {
    const key = target.closest("[data-key]")?.dataset.key;
    if (!key) return;
    pin.value = key === "back" ? pin.value.slice(0, -1) : (pin.value + key).slice(0, pin.maxLength);
    navigator.vibrate?.(10);
  });
}

for (const form of document.forms) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
}
window.addEventListener("pageshow", () => [...document.forms].forEach((form) => delete form.dataset.sent));
