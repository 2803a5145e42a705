// Phrases that fill the reason at a touch: button[data-phrase] in .phrased writes into its input, where
// more may be typed. Shown only with JavaScript (html.has-phrases).
"use strict";
(() => {
  document.documentElement.classList.add("has-phrases");
  document.addEventListener("click", (event) => {
    const phrase = event.target.closest?.("[data-phrase]");
    if (!phrase) return;
    const field = phrase.closest(".phrased").querySelector("input");
    const said = field.value.trim();
    field.value = said && !said.includes(phrase.textContent) ? `${said}; ${phrase.textContent}` : phrase.textContent;
  });
})();
