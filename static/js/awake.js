// Keeps the screen lit while a step or a check is on it, where the browser can. Whoever looks away and comes back
// finds it lit again; a device that is short of power may refuse, and then it dims as any other.
"use strict";
(() => {
  let lock = null;

  async function light() {
    const isWorked = document.querySelector("#step, #check");
    if (!navigator.wakeLock || document.hidden || !isWorked || (lock && !lock.released)) return;
    lock = await navigator.wakeLock.request("screen").catch(() => null);
  }

  document.addEventListener("visibilitychange", light);
  document.addEventListener("htmx:afterSettle", light);
  document.addEventListener("DOMContentLoaded", light);
})();
