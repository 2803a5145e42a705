// The bar asserts what was typed: button[data-seen="I see {}"] repeats the keypad's number and unit.
"use strict";
(() => {
  const press = document.querySelector("[data-seen]");
  const field = press?.form.querySelector(".keypad-number");
  if (!field) return;
  const empty = press.textContent;
  const unit = press.form.querySelector(".keypad .unit").textContent;

  function show() {
    const number = field.value.trim();
    press.textContent = number ? press.dataset.seen.replace("{}", `${number}\u00a0${unit}`) : empty;
  }

  field.addEventListener("input", show);
  show();
})();
