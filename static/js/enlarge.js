// A photograph as large as it is: [data-enlarge] opens in the dialog; a tap there brings the tapped spot closer,
// another tap goes back. Two fingers zoom as on any page. Without JavaScript the link opens the picture itself.
"use strict";
(() => {
  function open(link) {
    const dialog = document.querySelector("[data-enlarged]");
    const picture = dialog.querySelector("img");
    dialog.querySelector(".enlarged-room").classList.remove("is-close");
    picture.src = link.href;
    picture.alt = link.querySelector("img").alt;
    dialog.showModal();
  }

  function closer(picture, event) {
    const room = picture.closest(".enlarged-room");
    const box = picture.getBoundingClientRect();
    const x = (event.clientX - box.left) / box.width;
    const y = (event.clientY - box.top) / box.height;
    if (!room.classList.toggle("is-close")) return;
    room.scrollLeft = picture.clientWidth * x - room.clientWidth / 2;
    room.scrollTop = picture.clientHeight * y - room.clientHeight / 2;
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("[data-enlarge]");
    if (link) {
      event.preventDefault();
      open(link);
    }
    if (event.target.matches?.(".enlarged-room img")) closer(event.target, event);
    if (event.target.closest?.("[data-enlarged-close]")) event.target.closest("dialog").close();
  });
})();
