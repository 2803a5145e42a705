// On the page that a device keeps: shows the step that the work had come to here, if this is its page and nobody
// locked the device; else asks every few seconds whether the network is back, and then has the page that was wanted.
"use strict";
(() => {
  const AGAIN = 3000;
  const shell = document.querySelector("[data-shell]");

  async function ask() {
    if (!shell.isConnected) return;
    const answer = await fetch("/away/", { method: "HEAD", cache: "no-store" }).catch(() => null);
    if (answer?.ok) location.reload();
  }

  function word(name) {
    for (const part of document.querySelectorAll("[data-when]")) part.hidden = part.dataset.when !== name;
  }

  async function begin() {
    const { pathname } = location;
    const [, code, rest] = /^\/make\/(P\w+)\/(.*)$/.exec(pathname) ?? [];
    if (pathname === "/lock/") ahead.lock();
    sending.lost();
    if (code && !rest && (await ahead.restore(code).catch(() => false))) return;
    if (pathname === "/lock/" || localStorage.getItem("counterdraw-locked")) word("locked");
    else if (rest) word("wrong");
  }

  setInterval(ask, AGAIN);
  window.addEventListener("online", ask);
  document.addEventListener("DOMContentLoaded", begin);
})();
