// A badge scanner types and ends with Enter. In the badge field Enter goes on to the PIN as long as
// that is empty; only then does it send.
"use strict";
document.addEventListener("keydown", (event) => {
  const pin = document.getElementById("pin");
  if (event.key !== "Enter" || event.target.id !== "badge" || !pin || pin.value) return;
  event.preventDefault();
  pin.focus();
});
