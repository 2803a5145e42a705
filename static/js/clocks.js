// Clocks beside the work: <time data-until="ISO 8601"> says how long is left, as the server wrote it (3 h 20 min,
// 12 min), and the last minute in seconds. What has run out is said by the server: the poll brings it.
"use strict";
(() => {
  const SOON = 300;
  const MINUTE = 60;
  const offsets = new WeakMap();

  // A wrong clock of the device counts as the server's does: both were right when the page came.
  function offset(time) {
    if (!offsets.has(time)) {
      const now = Date.parse(document.getElementById("step")?.dataset.now ?? "");
      offsets.set(time, Number.isNaN(now) ? 0 : Date.now() - now);
    }
    return offsets.get(time);
  }

  function written(seconds) {
    if (seconds < MINUTE) return `0:${String(seconds).padStart(2, "0")}`;
    const minutes = Math.ceil(seconds / MINUTE);
    return minutes < MINUTE ? `${minutes} min` : `${Math.floor(minutes / MINUTE)} h ${minutes % MINUTE} min`;
  }

  function tick() {
    for (const time of document.querySelectorAll("#step [data-until]")) {
      const left = Math.round((Date.parse(time.dataset.until) - Date.now() + offset(time)) / 1000);
      const text = written(Math.max(0, left));
      if (time.textContent !== text) time.textContent = text;
      time.closest(".clock")?.classList.toggle("is-soon", left <= SOON && !time.closest(".warms"));
    }
  }

  setInterval(tick, 1000);
  document.addEventListener("htmx:afterSettle", tick);
  document.addEventListener("DOMContentLoaded", tick);
})();
