// The drawn plunger of a draw that does not stand at the mark. It starts empty; the right pedal, arrow down or
// right and "More" move it a mark on, the left ones a mark back, faster while held. A long press commits: both
// pedals, or the button, for 1.5 s. Left at empty goes back to the step. Every [data-plunger] of the picture
// moves by one rule: y = zero + (end - zero) x volume / size.
"use strict";
(() => {
  const LONG = 1500;
  const MOVES = { PageDown: 1, ArrowDown: 1, ArrowRight: 1, PageUp: -1, ArrowUp: -1, ArrowLeft: -1 };
  const down = new Set();
  let at = 0;
  let before = 0;
  let moving = 0;
  let setting = 0;

  const open = () => document.querySelector("#step .elsewhere[open]");
  const form = () => document.querySelector("#step .elsewhere .plunger");
  const places = (number) => (number.split(".")[1] ?? "").length;
  const volume = ({ dataset: { by } }) => String(Number((at * Number(by)).toFixed(places(by))));

  function show() {
    const { dataset } = form();
    const text = volume(form());
    form().querySelector("[data-at]").textContent = text;
    form().querySelector("[name=volume]").value = text;
    for (const reading of document.querySelectorAll("#step [data-reading]")) reading.textContent = text;
    for (const part of document.querySelectorAll("#step .syringe-moving [data-plunger]")) {
      const [zero, end] = [Number(part.dataset.zeroY), Number(part.dataset.endY)];
      const y = zero + ((end - zero) * Number(text)) / Number(dataset.size);
      part.setAttribute("transform", `translate(0 ${y.toFixed(2)})`);
    }
  }

  // Empty whenever it opens, and whatever a step before left.
  function wake() {
    at = 0;
    form()?.classList.add("is-awake");
    if (form()) show();
  }

  function move(by) {
    if (!open()) return;
    const most = Math.round(Number(form().dataset.size) / Number(form().dataset.by));
    if (by < 0 && at === 0 && !moving) return void (open().open = false);
    at = Math.min(most, Math.max(0, at + by));
    show();
  }

  function start(by) {
    stop();
    before = at;
    move(by);
    const began = performance.now();
    const again = () => {
      move(by);
      moving = setTimeout(again, performance.now() - began > 1600 ? 30 : 120);
    };
    moving = setTimeout(again, 450);
  }

  function stop() {
    clearTimeout(moving);
    clearTimeout(setting);
    moving = setting = 0;
    form()?.removeAttribute("data-setting");
  }

  function set() {
    stop();
    if (!at || !open()) return;
    form().toggleAttribute("data-setting", true);
    setting = setTimeout(() => open() && form().requestSubmit(), LONG);
  }

  document.addEventListener("keydown", (event) => {
    const isSet = event.target.matches?.(".plunger [data-hold]") && (event.key === "Enter" || event.key === " ");
    if (!open() || !(isSet || event.key in MOVES)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (event.repeat || down.has(event.key)) return;
    down.add(event.key);
    const isBoth = down.has("PageUp") && down.has("PageDown");
    // The first of two pedals pressed together has moved it: that was not meant.
    if (isBoth) {
      at = before;
      show();
    }
    if (isSet || isBoth) set();
    else start(MOVES[event.key]);
  }, true);
  document.addEventListener("keyup", (event) => {
    if (down.delete(event.key)) stop();
  });
  document.addEventListener("pointerdown", (event) => {
    if (event.target.closest?.(".plunger [data-hold]")) set();
    const way = event.target.closest?.(".plunger [data-move]");
    if (way) start(Number(way.dataset.move));
  });
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, stop);
  window.addEventListener("blur", stop);

  document.addEventListener("click", (event) => {
    if (event.target.closest?.(".plunger :is([data-hold], [data-move])")) event.preventDefault();
    if (event.target.closest?.("[data-elsewhere]")) wake();
    if (event.target.closest?.("[data-opens]")) document.querySelector("#step [data-elsewhere]").click();
  });
  document.addEventListener("htmx:afterSettle", wake);
  document.addEventListener("DOMContentLoaded", wake);
})();
