// One press, one act. A step that has just come (data-fresh) takes no press for 600 ms: the second of two
// quick presses must not finish what nobody has read. After a press the form rests until the answer is
// there; what the network lost is said in words. After a swap the new instruction takes the focus.
"use strict";
(() => {
  const RESTING = "data-resting";
  const FRESH = 600;
  let shown = "";

  const step = () => document.getElementById("step");
  const notice = () => document.getElementById("notice");

  function say(message) {
    const place = notice();
    if (!place) return;
    place.textContent = message;
    place.hidden = !message;
  }

  function rest(form, resting) {
    form.toggleAttribute(RESTING, resting);
  }

  document.addEventListener("click", (event) => {
    if (!event.target.closest?.("#step[data-fresh]:not(:has([name=scan])) :is([data-do], [data-leave])")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
  }, true);

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.hasAttribute(RESTING)) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    rest(form, true);
  }, true);

  // A page brought back by the browser's own history must not stay asleep.
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll(`form[${RESTING}]`)) rest(form, false);
  });

  document.addEventListener("htmx:afterRequest", (event) => {
    const form = event.target.closest?.("form") ?? event.target;
    if (form instanceof HTMLFormElement) rest(form, false);
    if (event.detail.successful || event.detail.xhr?.status === 409) say("");
  });

  document.addEventListener("htmx:sendError", () => say(notice()?.dataset.lost ?? ""));
  document.addEventListener("htmx:responseError", () => say(notice()?.dataset.failed ?? ""));

  // A poll or a refusal that brings the same step again leaves the focus where it is, and is not fresh.
  function arrived() {
    const now = step();
    if (!now) return;
    const isNew = now.dataset.step !== shown;
    shown = now.dataset.step;
    if (!isNew) return now.removeAttribute("data-fresh");
    setTimeout(() => now.removeAttribute("data-fresh"), FRESH);
  }

  document.addEventListener("htmx:afterSettle", () => {
    const isNew = step() && step().dataset.step !== shown;
    arrived();
    if (isNew) document.getElementById("instruction")?.focus({ preventScroll: true });
  });

  arrived();
})();
