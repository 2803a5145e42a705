// Counts a dwell down. .dwell[data-left][data-seconds] holds .dwell-left (text) and a <progress>;
// the action [data-dwell-do] sleeps until zero. The server judges; this only shows and spares a refusal.
"use strict";
(() => {
  let running = null;
  let timer = 0;

  const written = (seconds) => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

  function show(dwell, left) {
    const text = dwell.querySelector(".dwell-left");
    const bar = dwell.querySelector("progress");
    if (text) text.textContent = written(left);
    if (bar) bar.value = Number(dwell.dataset.seconds) - left;
    dwell.classList.toggle("is-over", left === 0);
    const action = document.querySelector("[data-dwell-do]");
    if (action) action.disabled = left > 0;
  }

  function begin() {
    const dwell = document.querySelector(".dwell[data-left]");
    if (dwell === running) return;
    clearInterval(timer);
    running = dwell;
    if (!dwell) return;
    const ends = performance.now() + Number(dwell.dataset.left) * 1000;
    const isRunning = Number(dwell.dataset.left) > 0;
    const step = () => {
      const left = Math.max(0, Math.ceil((ends - performance.now()) / 1000));
      show(dwell, left);
      if (left > 0) return;
      clearInterval(timer);
      if (isRunning) dwell.dispatchEvent(new CustomEvent("dwell:over", { bubbles: true }));
    };
    timer = setInterval(step, 250);
    step();
  }

  document.addEventListener("htmx:afterSettle", begin);
  document.addEventListener("DOMContentLoaded", begin);
})();
