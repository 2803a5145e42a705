// A keyboard-wedge scanner types faster than any hand and ends with Enter. Such a burst fills
// input[name=scan] and submits its form even when the field has no focus. Ctrl+] is the group
// separator (GS, 0x1D) that ends a variable field of a GS1 code.
"use strict";
(() => {
  const GAP = 50;
  const SHORTEST = 4;
  const GS = "\x1d";
  let burst = "";
  let last = 0;

  const isSeparator = (event) => event.ctrlKey && (event.key === "]" || event.code === "BracketRight");

  function read(event) {
    if (isSeparator(event)) return GS;
    if (event.ctrlKey || event.altKey || event.metaKey) return "";
    return event.key.length === 1 ? event.key : "";
  }

  function deliver(event) {
    const field = document.querySelector("input[name=scan]");
    const code = burst;
    burst = "";
    if (!field || code.length < SHORTEST) return;
    event.preventDefault();
    event.stopPropagation();
    field.value = code;
    field.form.requestSubmit();
  }

  document.addEventListener("keydown", (event) => {
    const isQuick = event.timeStamp - last < GAP;
    if (event.key === "Enter") {
      if (isQuick) deliver(event);
      burst = "";
      return;
    }
    const letter = read(event);
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
