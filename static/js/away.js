// On the page that a device keeps: asks every few seconds whether the network is back, and then has the page that
// was wanted. An answer of any kind is a network.
"use strict";
(() => {
  const AGAIN = 3000;

  async function ask() {
    const answer = await fetch(location.href, { method: "HEAD", redirect: "manual", cache: "no-store" }).catch(() => null);
    if (answer && answer.status !== 503) location.reload();
  }

  setInterval(ask, AGAIN);
  window.addEventListener("online", ask);
})();
