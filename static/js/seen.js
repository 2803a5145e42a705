// The bar asserts what was typed: button[data-seen="I see {}"] repeats the keypad's number and unit.
// When the next syringe comes up in place, its heading takes the focus, so that it is read out.
"use strict";
(() => {
  let shown = "";

  function show() {
    const press = document.querySelector("[data-seen]");
    const field = press?.form.querySelector(".keypad-number");
    if (!field) return;
    press.dataset.empty ??= press.textContent;
    const unit = press.form.querySelector(".keypad .unit").textContent;
    const number = field.value.trim();
    press.textContent = number
      ? press.dataset.seen.replace("{}", `${number}\u00a0${unit}`)
      : press.dataset.empty;
  }

  function arrived() {
    show();
    const now = document.getElementById("check")?.dataset.syringe ?? "";
    if (now === shown) return;
    shown = now;
    document.getElementById("to-read")?.focus({ preventScroll: true });
  }

  document.addEventListener("input", (event) => {
    if (event.target.closest(".keypad")) show();
  });
  document.addEventListener("htmx:afterSettle", arrived);
  shown = document.getElementById("check")?.dataset.syringe ?? "";
  show();
})();
