// input[type=file][data-read] photographs a code: the browser reads it where it can (BarcodeDetector), else
// the server does. The text goes into input[name=scan] of the page as if a scanner had typed it.
"use strict";
(() => {
  const FORMATS = ["data_matrix", "qr_code", "code_128"];
  const SHOW = "can-photograph";

  document.documentElement.classList.add(SHOW);

  function say(sentence) {
    const notice = document.getElementById("notice");
    notice.textContent = sentence;
    notice.hidden = !sentence;
  }

  async function readHere(picture) {
    if (!("BarcodeDetector" in window)) return "";
    try {
      const found = await new window.BarcodeDetector({ formats: FORMATS }).detect(await createImageBitmap(picture));
      return found.length === 1 ? found[0].rawValue : "";
    } catch {
      return "";
    }
  }

  async function readThere(picture, field, input) {
    const form = new FormData();
    form.append("picture", picture);
    const token = field.form.querySelector("[name=csrfmiddlewaretoken]").value;
    const answer = await fetch(input.dataset.read, {
      method: "POST", body: form, headers: { "X-CSRFToken": token }, redirect: "error",
    });
    if (answer.status !== 200 && answer.status !== 409) throw new Error(answer.statusText);
    return answer.json();
  }

  async function read(input) {
    const field = document.querySelector("input[name=scan]");
    const [picture] = input.files;
    input.value = "";
    if (!picture || !field) return;
    say(input.dataset.reading);
    try {
      const text = await readHere(picture);
      const told = text ? { text } : await readThere(picture, field, input);
      say(told.sentence ?? "");
      if (!told.text) return;
      field.value = told.text;
      field.form.requestSubmit();
    } catch {
      say(document.getElementById("notice").dataset.lost);
    }
  }

  document.addEventListener("change", (event) => {
    if (event.target.matches?.("input[type=file][data-read]")) read(event.target);
  });
})();
