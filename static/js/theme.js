// The device's own choice of theme, kept on the device: button[data-choose-theme=auto|paper|dim|contrast].
"use strict";
(() => {
  const root = document.documentElement;
  const NAME = "counterdraw-theme";

  function mark() {
    for (const button of document.querySelectorAll("[data-choose-theme]")) {
      button.setAttribute("aria-pressed", String(button.dataset.chooseTheme === root.dataset.theme));
    }
  }

  try {
    const kept = localStorage.getItem(NAME);
    if (kept) root.dataset.theme = kept;
  } catch {
    // A browser that keeps nothing still shows the theme of the device.
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-choose-theme]");
    if (!button) return;
    root.dataset.theme = button.dataset.chooseTheme;
    try {
      localStorage.setItem(NAME, root.dataset.theme);
    } catch {
      // Chosen for this page only.
    }
    mark();
  });
  document.addEventListener("DOMContentLoaded", mark);
})();
