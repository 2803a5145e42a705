// A two-pedal foot switch, or any keyboard. PageDown (right pedal) presses the one main action. PageUp (left
// pedal) brings the instruction back and says it again; pressed twice quickly it opens [data-elsewhere] or
// [data-sooner], where choices.js takes over; held 2 s, or Escape, it opens "Something is wrong". Right while
// left is held, or Home: hands left the hood.
// A press counts once: never by auto-repeat, never on a step that has only just come (data-fresh, press.js),
// and only when its pedal was up and quiet before. A step that wants a scan is not finished by a press.
"use strict";
(() => {
  const QUIET = 600;
  const HELD = 2000;
  const TWICE = 500;
  const down = new Set();
  let last = -QUIET;
  let looked = -TWICE;
  let holding = 0;

  const step = () => document.getElementById("step");

  function say(words) {
    const notice = document.getElementById("notice");
    if (!notice) return;
    notice.textContent = words ?? "";
    notice.hidden = !words;
  }

  function done() {
    const action = document.querySelector("[data-do]");
    if (!action || step().matches("[data-fresh], :has(.elsewhere[open])")) return;
    if (step().querySelector("input[name=scan]")) say(step().dataset.wantsScan);
    else if (action.disabled) say(step().dataset.tooEarly);
    else action.click();
  }

  const wrong = () => document.querySelector("[data-wrong]")?.click();
  const leave = () => document.querySelector("[data-leave]")?.click();

  function look() {
    const now = performance.now();
    const isTwice = now - looked < TWICE;
    looked = now;
    const elsewhere = step()?.querySelector("[data-elsewhere], [data-sooner]");
    if (isTwice && elsewhere) return void elsewhere.click();
    for (const open of document.querySelectorAll("#step details[open]")) open.open = false;
    document.getElementById("instruction")?.focus();
    document.dispatchEvent(new CustomEvent("step:again"));
  }

  function right() {
    const now = performance.now();
    const isQuiet = now - last >= QUIET;
    last = now;
    if (!isQuiet) return;
    if (!down.has("PageUp")) return done();
    stopHolding();
    leave();
  }

  function stopHolding() {
    clearTimeout(holding);
    holding = 0;
  }

  function left() {
    stopHolding();
    holding = setTimeout(() => {
      holding = 0;
      wrong();
    }, HELD);
  }

  document.addEventListener("keydown", (event) => {
    if (!step() || step().querySelector("details[open] [data-choices]")) return;
    if (event.key === "Escape" || (event.key === "Home" && event.target.tagName !== "INPUT")) {
      event.preventDefault();
      if (!event.repeat) (event.key === "Escape" ? wrong : leave)();
    }
    if (event.key !== "PageDown" && event.key !== "PageUp") return;
    event.preventDefault();
    if (event.repeat || down.has(event.key)) return;
    down.add(event.key);
    (event.key === "PageDown" ? right : left)();
  });

  document.addEventListener("keyup", (event) => {
    if (!down.delete(event.key) || event.key !== "PageUp" || !holding) return;
    stopHolding();
    look();
  });

  window.addEventListener("blur", () => {
    down.clear();
    stopHolding();
  });
  document.addEventListener("card:done", done);
})();
