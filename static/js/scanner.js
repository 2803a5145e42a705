// A keyboard-wedge scanner types faster than any hand and ends with Enter or Tab. Such a burst fills
// input[name=scan] and submits its form even when the field has no focus. The group separator (GS, 0x1D), which
// ends a variable field of a GS1 code, comes as Ctrl+], as itself, as F8, or as Alt with 0 2 9 on the number pad.
// On a step its Enter does nothing else: it never presses what happens to have the focus. The "done" card
// (data-done-card) stands for a press where no scan is wanted; a fixed scanner reads it again and again as long
// as it lies there: that counts once.
"use strict";
(() => {
  const GAP = 50;
  const SHORTEST = 4;
  const AGAIN = 1000;
  const TAKEN_AWAY = 2000;
  const GS = "\x1d";
  const ENDS = ["Enter", "Tab"];
  let burst = "";
  let last = 0;
  let padded = "";
  let read = { code: "", at: -TAKEN_AWAY };

  const isSeparator = (event, isQuick) => event.key === GS || (isQuick && event.key === "F8") ||
    (event.ctrlKey && (event.key === "]" || event.code === "BracketRight"));

  function letterOf(event, isQuick) {
    if (isSeparator(event, isQuick)) return GS;
    if (event.ctrlKey || event.altKey || event.metaKey) return "";
    return event.key.length === 1 ? event.key : "";
  }

  function isAgain(code, within) {
    const before = read;
    read = { code, at: performance.now() };
    return before.code === code && read.at - before.at < within;
  }

  // What the burst left behind in another field that had the focus is taken out of it again.
  function takeBack(code) {
    const field = document.activeElement;
    const left = code.replaceAll(GS, "");
    if (field?.matches?.("input, textarea") && field.value.endsWith(left)) {
      field.value = field.value.slice(0, -left.length);
    }
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
    if (document.activeElement !== field) takeBack(code);
    if (field) {
      field.value = code;
      field.form.requestSubmit();
      return;
    }
    if (isCard) document.dispatchEvent(new CustomEvent("card:done"));
  }

  function take(letter, event, isQuick) {
    burst = isQuick ? burst + letter : letter;
    last = event.timeStamp;
    if (letter !== GS) return;
    // The browser would lose the separator, or act on it.
    event.preventDefault();
    const field = document.activeElement;
    if (field?.name === "scan") field.value += GS;
  }

  document.addEventListener("keydown", (event) => {
    const isQuick = event.timeStamp - last < GAP;
    if (event.altKey && /^Numpad\d$/.test(event.code)) {
      padded += event.code.at(-1);
      return;
    }
    if (ENDS.includes(event.key)) {
      if (isQuick) deliver(event);
      burst = "";
      return;
    }
    const letter = letterOf(event, isQuick);
    if (letter) take(letter, event, isQuick);
  }, true);

  document.addEventListener("keyup", (event) => {
    if (event.key !== "Alt") return;
    if (Number(padded) === 29) take(GS, event, event.timeStamp - last < GAP * 4);
    padded = "";
  }, true);
})();
