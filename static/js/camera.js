// The camera at the hood. [data-camera] shows what a camera sees where the browser has one (a secure context);
// the bar, or PageDown, counts 3 s down, takes the picture, makes it at most 2,000 pixels long and sends it in
// the page’s own form. A chosen file is made smaller the same way. Nothing is drawn over the picture.
"use strict";
(() => {
  const LONGEST = 2000;
  const COUNT = 3;
  const KEPT = "counterdraw-camera";
  const root = document.querySelector("[data-camera]");
  const form = root.querySelector("form");
  const field = form.querySelector("input[type=file]");
  const video = root.querySelector("video");
  const part = (name) => document.querySelector(`[data-camera-${name}]`);
  const born = performance.now();
  let stream = null;
  let isBusy = false;

  async function jpeg(source, width, height) {
    const scale = Math.min(1, LONGEST / Math.max(width, height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(width * scale);
    canvas.height = Math.round(height * scale);
    canvas.getContext("2d").drawImage(source, 0, 0, canvas.width, canvas.height);
    return new Promise((done) => { canvas.toBlob(done, "image/jpeg", 0.85); });
  }

  function put(blob) {
    const carrier = new DataTransfer();
    carrier.items.add(new File([blob], "picture.jpg", { type: "image/jpeg" }));
    field.files = carrier.files;
  }

  async function send() {
    put(await jpeg(video, video.videoWidth, video.videoHeight));
    part("sending").hidden = false;
    form.requestSubmit();
  }

  function count(left) {
    part("count").hidden = left === 0;
    part("count").textContent = left;
    if (left) setTimeout(count, 1000, left - 1);
    else send();
  }

  function take() {
    if (isBusy || !video.videoWidth || performance.now() - born < 600) return;
    isBusy = true;
    part("take").disabled = true;
    count(COUNT);
  }

  const stop = () => stream?.getTracks().forEach((track) => track.stop());

  async function open(camera) {
    stop();
    const which = camera ? { deviceId: { exact: camera } } : { facingMode: "environment" };
    stream = await navigator.mediaDevices.getUserMedia({ video: { ...which, width: { ideal: LONGEST } } });
    video.srcObject = stream;
    part("sight").hidden = part("bar").hidden = false;
    part("none").hidden = true;
    const all = (await navigator.mediaDevices.enumerateDevices()).filter((one) => one.kind === "videoinput");
    part("next").hidden = all.length < 2;
  }

  async function next() {
    const now = stream.getVideoTracks()[0].getSettings().deviceId;
    const all = (await navigator.mediaDevices.enumerateDevices()).filter((one) => one.kind === "videoinput");
    const at = all.findIndex((one) => one.deviceId === now);
    const wanted = all[(at + 1) % all.length].deviceId;
    localStorage.setItem(KEPT, wanted);
    await open(wanted);
  }

  field.addEventListener("change", async () => {
    const [file] = field.files;
    if (!file) return;
    try {
      const picture = await createImageBitmap(file);
      put(await jpeg(picture, picture.width, picture.height));
    } catch {
      // Not a picture that this browser reads: the server says what it is.
    }
  });
  part("take").addEventListener("click", take);
  part("next").addEventListener("click", next);
  document.addEventListener("keydown", (event) => {
    if (event.key === "PageDown") event.preventDefault();
    if (event.key === "PageDown" && !event.repeat) take();
    if (event.key === "Escape" && !event.repeat) location.assign(root.dataset.back);
  });
  // The checker may have read the syringes in person meanwhile: then the work has gone on, and so does this.
  setInterval(async () => {
    const answer = await fetch(location.href, { method: "HEAD" }).catch(() => null);
    if (answer?.status === 409) location.assign(root.dataset.back);
  }, 4000);
  window.addEventListener("pagehide", stop);
  if (navigator.mediaDevices?.getUserMedia) {
    open(localStorage.getItem(KEPT)).catch(() => open("").catch(() => {}));
  }
})();
