// Says each step when it comes: its instruction, then whatever carries data-spoken (amounts, what has run out);
// nothing else of the page, so never a name. What was being said stops when another step comes: while a draw
// is read its amount is not in the air. button[data-voice] mutes it, and the device remembers.
"use strict";
(() => {
  const NAME = "counterdraw-voice";
  const voice = window.speechSynthesis;
  let isMuted = false;
  let shown = "";
  let told = "";

  try {
    isMuted = localStorage.getItem(NAME) === "muted";
  } catch {
    // A browser that keeps nothing speaks.
  }

  const plain = (text) => text.replace(/\s+/g, " ").trim();
  const alarms = () => [...document.querySelectorAll("#step [role=alert]")].map((one) => plain(one.textContent));

  function words() {
    const spoken = [...document.querySelectorAll("#step [data-spoken]")].map((one) => one.dataset.spoken);
    const instruction = document.getElementById("instruction")?.textContent ?? "";
    return [...alarms(), instruction, ...spoken].map(plain).filter(Boolean).join(". ");
  }

  function speak(text) {
    voice?.cancel();
    if (!voice || isMuted || !text) return;
    const said = new SpeechSynthesisUtterance(text);
    said.lang = document.documentElement.lang;
    voice.speak(said);
  }

  function mark() {
    const button = document.querySelector("[data-voice]");
    if (!button) return;
    button.setAttribute("aria-pressed", String(!isMuted));
    button.hidden = !voice;
  }

  function arrived() {
    mark();
    const step = document.getElementById("step");
    if (!step) return;
    const alarm = alarms().join(". ");
    if (step.dataset.step !== shown) speak(words());
    else if (alarm && alarm !== told) speak(alarm);
    shown = step.dataset.step;
    told = alarm;
  }

  document.addEventListener("click", (event) => {
    if (!event.target.closest?.("[data-voice]")) return;
    isMuted = !isMuted;
    try {
      localStorage.setItem(NAME, isMuted ? "muted" : "speaks");
    } catch {
      // Chosen for this page only.
    }
    mark();
    speak(words());
  });
  document.addEventListener("step:again", () => speak(words()));
  document.addEventListener("dwell:over", () => speak(document.getElementById("step")?.dataset.timeOver));
  document.addEventListener("htmx:afterSettle", arrived);
  document.addEventListener("DOMContentLoaded", arrived);
  window.addEventListener("pagehide", () => voice?.cancel());
})();
