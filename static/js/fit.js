// The largest letters with which a label's words fit: classes fit-1 (large) to fit-6 (small). A label that fits
// with none says so on the screen, with its longest lines, and is not printed: nothing is cut off unseen.
"use strict";
(() => {
  const SCALES = [1, 2, 3, 4, 5, 6];

  function fits(label) {
    const room = label.getBoundingClientRect();
    const edge = parseFloat(getComputedStyle(label).paddingBottom);
    const last = room.bottom - edge + 0.5;
    return [...label.querySelectorAll("p")].every((line) => {
      const box = line.getBoundingClientRect();
      return box.bottom <= last && line.scrollWidth <= line.clientWidth + 1;
    });
  }

  function longest(label) {
    const lines = [...label.querySelectorAll(".label-top p, .label-rest p")].map((line) => line.textContent);
    return lines.sort((one, other) => other.length - one.length).slice(0, 3).map((line) => `“${line}”`).join(", ");
  }

  function fit(label) {
    const fitting = SCALES.find((scale) => {
      label.classList.remove(...SCALES.map((one) => `fit-${one}`));
      label.classList.add(`fit-${scale}`);
      return fits(label);
    });
    const said = label.nextElementSibling;
    const isFit = fitting !== undefined;
    label.classList.toggle("is-clipped", !isFit);
    said.hidden = isFit;
    const place = said.querySelector("[data-longest]");
    if (place && !isFit) place.textContent = longest(label);
  }

  document.fonts.ready.then(() => document.querySelectorAll(".label").forEach(fit));
})();
