// Locks a screen that nobody touches: after body[data-idle-seconds] without input it goes to body[data-lock].
// Polls are no input. Zero, or no attribute, never locks.
"use strict";
(() => {
  let last = Date.now();
  const touched = () => {
    last = Date.now();
  };

  for (const kind of ["pointerdown", "keydown", "wheel", "touchstart"]) {
    document.addEventListener(kind, touched, { passive: true, capture: true });
  }

  // By the clock, not by one long timer: a device that slept locks as soon as it wakes.
  setInterval(() => {
    const { idleSeconds, lock } = document.body.dataset;
    const limit = Number(idleSeconds) * 1000;
    if (!limit || !lock || Date.now() - last < limit) return;
    if (document.getElementById("step")) window.ahead?.lock();
    const next = encodeURIComponent(location.pathname + location.search);
    location.assign(`${lock}?next=${next}`);
  }, 1000);
})();
