// button[data-print] opens the device's own print dialogue.
"use strict";
document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-print]")) window.print();
});
