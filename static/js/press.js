// One press, one act. After a press the button rests until the answer is there; what the network
// lost is said in words. After a swap the new instruction takes the focus, so it is read out.
"use strict";
(() => {
  const RESTING = "data-resting";
  let shown = "";

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

  // A poll that brings the same step again leaves the focus where it is.
  document.addEventListener("htmx:afterSettle", () => {
    const step = document.getElementById("step");
    const key = step?.dataset.step ?? "";
    if (!step || key === shown) return;
    shown = key;
    document.getElementById("instruction")?.focus({ preventScroll: true });
  });

  shown = document.getElementById("step")?.dataset.step ?? "";
})();
