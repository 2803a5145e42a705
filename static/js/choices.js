// Choosing without hands, in [data-choices] (in a <details> only while that is open): PageDown goes to the next [data-choice], PageUp to the one
// before; PageDown held presses it. Escape goes back. Arrow keys do as the pedals; Enter presses, as anywhere.
"use strict";
(() => {
  const HELD = 1200;
  let holding = 0;
  let isDown = false;

  const list = () => document.querySelector("[data-choices]:not(details:not([open]) *)");
  const choices = () => [...list().querySelectorAll("[data-choice]")];

  function move(by) {
    const all = choices();
    const at = all.indexOf(document.activeElement);
    all[(at + by + all.length) % all.length].focus();
  }

  function choose() {
    holding = 0;
    const chosen = document.activeElement;
    if (chosen?.matches("[data-choice]")) chosen.click();
  }

  function pedal(event) {
    event.preventDefault();
    if (event.repeat || isDown) return;
    isDown = true;
    if (event.key === "PageDown") holding = setTimeout(choose, HELD);
    else move(-1);
  }

  document.addEventListener("keydown", (event) => {
    if (!list() || event.target.matches?.("input, textarea")) return;
    if (event.key === "PageDown" || event.key === "PageUp") pedal(event);
    else if (event.key === "ArrowDown" || event.key === "ArrowRight") move(1);
    else if (event.key === "ArrowUp" || event.key === "ArrowLeft") move(-1);
    else if (event.key === "Escape" && !event.repeat) location.assign(list().dataset.back);
    else return;
    event.preventDefault();
  });

  document.addEventListener("keyup", (event) => {
    if (event.key !== "PageDown" && event.key !== "PageUp") return;
    isDown = false;
    if (event.key === "PageDown" && holding) move(1);
    clearTimeout(holding);
    holding = 0;
  });

  function wake() {
    for (const key of document.querySelectorAll("[data-choices-key]")) key.hidden = false;
    if (list() && !list().contains(document.activeElement)) choices()[0]?.focus();
  }

  document.addEventListener("DOMContentLoaded", wake);
  document.addEventListener("toggle", wake, true);
  document.addEventListener("click", (event) => {
    const shut = event.target.closest?.("[data-shut]");
    if (shut) shut.closest("details").open = false;
  });
})();
