// A keyboard-wedge scanner types faster than any hand and ends with Enter. Such a burst fills
// input[name=scan] and submits its form even when the field has no focus. Ctrl+] is the group
// separator (GS, 0x1D) that ends a variable field of a GS1 code. On a step its Enter does nothing else:
// it never presses what happens to have the focus. The "done" card (data-done-card) stands for a press where
// no scan is wanted; a fixed scanner reads it again and again as long as it lies there: that counts once.
"use strict";
(() => {
  const GAP = 50;
  const SHORTEST = 4;
  const AGAIN = 1000;
  const TAKEN_AWAY = 2000;
  const GS = "\x1d";
  let burst = "";
  let last = 0;
  let read = { code: "", at: -TAKEN_AWAY };

  const isSeparator = (event) => event.ctrlKey && (event.key === "]" || event.code === "BracketRight");

  function letterOf(event) {
    if (isSeparator(event)) return GS;
    if (event.ctrlKey || event.altKey || event.metaKey) return "";
    return event.key.length === 1 ? event.key : "";
  }

  function isAgain(code, within) {
    const before = read;
    read = { code, at: performance.now() };
    return before.code === code && read.at - before.at < within;
  }

  function takeBack(code) {
    const field = document.activeElement;
    if (field?.matches?.("input") && field.value.endsWith(code)) field.value = field.value.slice(0, -code.length);
  }

  function deliver(event) {
    const field = document.querySelector("input[name=scan]");
    const card = document.getElementById("step")?.dataset.doneCard;
    const code = burst;
    if (code.length < SHORTEST || (!field && !card)) return;
    event.preventDefault();
    event.stopPropagation();
    const isCard = code.toUpperCase() === card;
    if (isAgain(code, isCard ? TAKEN_AWAY : AGAIN)) return;
    if (field) {
      field.value = code;
      field.form.requestSubmit();
      return;
    }
    takeBack(code);
    if (isCard) document.dispatchEvent(new CustomEvent("card:done"));
  }

  document.addEventListener("keydown", (event) => {
    const isQuick = event.timeStamp - last < GAP;
    if (event.key === "Enter") {
      if (isQuick) deliver(event);
      burst = "";
      return;
    }
    const letter = letterOf(event);
    if (!letter) return;
    burst = isQuick ? burst + letter : letter;
    last = event.timeStamp;
    // The browser would lose the separator, or act on it.
    if (letter === GS) {
      event.preventDefault();
      const field = document.activeElement;
      if (field?.name === "scan") field.value += GS;
    }
  }, true);
})();
