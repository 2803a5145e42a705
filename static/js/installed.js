// The program as an installed one. The worker is registered where there may be one (https, or this very machine);
// elsewhere [data-plain-http] says what is off. A new version is offered in [data-update], which stands only on
// pages between preparations, and is taken by a press, never by itself.
"use strict";
(() => {
  let isTaken = false;

  async function register() {
    const workers = navigator.serviceWorker;
    if (!workers) return;
    const registration = await workers.register("/sw.js", { updateViaCache: "none" }).catch(() => null);
    if (!registration) return;
    const offer = () => {
      const place = document.querySelector("[data-update]");
      if (place) place.hidden = !(registration.waiting && workers.controller);
    };
    registration.addEventListener("updatefound", () => {
      registration.installing?.addEventListener("statechange", offer);
    });
    document.addEventListener("click", (event) => {
      if (!event.target.closest?.("[data-update-take]")) return;
      isTaken = true;
      registration.waiting?.postMessage("take");
    });
    workers.addEventListener("controllerchange", () => {
      if (isTaken) location.reload();
    });
    offer();
  }

  function note() {
    const place = document.querySelector("[data-plain-http]");
    if (place) place.hidden = window.isSecureContext;
  }

  document.addEventListener("DOMContentLoaded", () => {
    note();
    register();
  });
})();
