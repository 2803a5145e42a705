// Ticking times. <time data-since="ISO 8601">: how long it has waited, as 0:42, 12:05 or 1:02:09.
// data-late: from so many seconds on its .waits is-late, and says who else may act.
// The server's time of rendering (data-now, ISO) corrects a wrong clock of the device.
"use strict";
(() => {
  const offsets = new WeakMap();
  const two = (number) => String(number).padStart(2, "0");

  function offset(element) {
    if (!offsets.has(element)) {
      const now = Date.parse(element.dataset.now ?? "");
      offsets.set(element, Number.isNaN(now) ? 0 : Date.now() - now);
    }
    return offsets.get(element);
  }

  function written(seconds) {
    const hours = Math.floor(seconds / 3600);
    const minutes = Math.floor(seconds / 60) % 60;
    const rest = two(seconds % 60);
    return hours ? `${hours}:${two(minutes)}:${rest}` : `${minutes}:${rest}`;
  }

  function tick() {
    for (const element of document.querySelectorAll("[data-since]")) {
      const since = Date.parse(element.dataset.since);
      if (Number.isNaN(since)) continue;
      const seconds = Math.max(0, Math.floor((Date.now() - offset(element) - since) / 1000));
      const text = written(seconds);
      if (element.textContent !== text) element.textContent = text;
      if (element.dataset.late) element.closest(".waits").classList.toggle("is-late", seconds >= Number(element.dataset.late));
    }
  }

  setInterval(tick, 500);
  document.addEventListener("htmx:afterSettle", tick);
  document.addEventListener("DOMContentLoaded", tick);
})();
