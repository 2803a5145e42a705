// A two-pedal foot switch, or any keyboard. PageDown presses the one main action; the left pedal held
// 2 s, or Escape, opens "Something is wrong"; PageUp brings the instruction back into view.
// A press counts once, never by auto-repeat, and only when the step has been on the screen long enough
// and the pedal was up in between. Never on a step that is finished by a scan.
"use strict";
(() => {
  const LEAST = 600;
  const HELD = 2000;
  let since = performance.now();
  let key = "";
  let isDown = false;
  let holding = 0;

  function arrived() {
    const now = document.getElementById("step")?.dataset.step ?? "";
    if (now === key) return;
    key = now;
    since = performance.now();
  }

  function done() {
    const action = document.querySelector("[data-do]");
    const isScan = document.querySelector("#step input[name=scan]");
    if (!action || action.disabled || isScan || performance.now() - since < LEAST) return;
    action.click();
  }

  function wrong() {
    document.querySelector("[data-wrong]")?.click();
  }

  function look() {
    for (const open of document.querySelectorAll("#step details[open]")) open.open = false;
    document.getElementById("instruction")?.focus();
  }

  document.addEventListener("keydown", (event) => {
    if (!document.getElementById("step")) return;
    if (event.key === "Escape") {
      event.preventDefault();
      if (!event.repeat) wrong();
    }
    if (event.key !== "PageDown" && event.key !== "PageUp") return;
    event.preventDefault();
    if (event.repeat || isDown) return;
    isDown = true;
    if (event.key === "PageDown") done();
    else holding = setTimeout(wrong, HELD);
  });

  document.addEventListener("keyup", (event) => {
    if (event.key !== "PageDown" && event.key !== "PageUp") return;
    isDown = false;
    if (event.key === "PageUp" && holding) look();
    clearTimeout(holding);
    holding = 0;
  });

  window.addEventListener("blur", () => {
    isDown = false;
    clearTimeout(holding);
  });
  document.addEventListener("htmx:afterSettle", arrived);
  document.addEventListener("DOMContentLoaded", arrived);
})();
