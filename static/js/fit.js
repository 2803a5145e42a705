// The largest letters with which a label's words fit: classes fit-1 (large) to fit-6 (small). A label that
// fits with none says so on the screen: nothing may be cut off unseen.
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

  function fit(label) {
    const fitting = SCALES.find((scale) => {
      label.classList.remove(...SCALES.map((one) => `fit-${one}`));
      label.classList.add(`fit-${scale}`);
      return fits(label);
    });
    label.nextElementSibling.hidden = fitting !== undefined;
  }

  document.fonts.ready.then(() => document.querySelectorAll(".label").forEach(fit));
})();
