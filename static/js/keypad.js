// Keys of parts/_keypad.html: they write into the field of their own .keypad, one character a press.
// The field stays a plain input (inputmode=none while the keys are awake, so no second keyboard opens).
"use strict";
(() => {
  function wake() {
    for (const pad of document.querySelectorAll(".keypad:not(.is-awake)")) {
      pad.classList.add("is-awake");
      pad.querySelector(".keypad-number").inputMode = "none";
    }
  }

  function changed(field, text) {
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function press(field, digit) {
    if (digit === "clear") changed(field, "");
    else if (digit === "back") changed(field, field.value.slice(0, -1));
    else if (digit === "." && field.value.includes(".")) return;
    else if (field.value.length < field.maxLength) changed(field, field.value + digit);
  }

  document.addEventListener("click", (event) => {
    const key = event.target.closest?.(".keypad [data-digit]");
    if (key) press(key.closest(".keypad").querySelector(".keypad-number"), key.dataset.digit);
  });
  document.addEventListener("htmx:afterSettle", wake);
  document.addEventListener("DOMContentLoaded", wake);
})();
