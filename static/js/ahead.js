// The steps ahead. A step that the server shows brings them onto the device (again whenever the way has changed), and
// they are shown from there while there is no network. Handing over and signing out erase them, after what is
// finished has been sent; so does any page of another person.
"use strict";
window.ahead = (() => {
  const LOCKED = "counterdraw-locked";
  const step = () => document.getElementById("step");
  const person = () => document.body.dataset.person;
  let noted = "";

  function swap(one, pack) {
    const holder = document.createElement("template");
    holder.innerHTML = one.html ?? pack.waits;
    const fresh = holder.content.querySelector("#step");
    // Its clocks run by the server's time, as far as this device knows it.
    fresh.dataset.now = new Date(Date.now() - pack.offset).toISOString();
    if (!one.html) {
      Object.assign(fresh.dataset, { place: one.place, goes: one.goes, step: one.place });
      fresh.querySelector("#instruction").textContent = one.name;
      fresh.querySelector(".away-why").textContent = one.why;
    }
    step().replaceWith(fresh);
    window.htmx?.process(fresh);
    document.dispatchEvent(new CustomEvent("htmx:afterSettle"));
  }

  const after = (pack, place) => pack?.steps.find((one) => one.place > place);

  async function have(url) {
    const asked = await fetch(url, { headers: { "If-None-Match": "ahead" }, redirect: "error" }).catch(() => null);
    const pack = asked?.ok ? await asked.json() : null;
    if (!pack?.steps.length) return null;
    return { ...pack, offset: Date.now() - Date.parse(pack.now), idle: document.body.dataset.idleSeconds };
  }

  async function note() {
    const { code, plan, place, goodUntil, steps } = step().dataset;
    const at = { place: Number(place), until: goodUntil };
    localStorage.removeItem(LOCKED);
    const kept = await outbox.ahead(code);
    const isFit = kept?.plan === plan && kept.person === person() && kept.steps.some((one) => one.place === at.place);
    const pack = isFit ? kept : await have(steps);
    if (pack) await outbox.setAhead({ ...pack, at });
  }

  function arrived() {
    const { steps, code, plan, place, goodUntil, ahead: isAhead } = step()?.dataset ?? {};
    if (!steps || isAhead !== undefined) return;
    const now = [code, plan, place, goodUntil].join();
    if (now === noted) return;
    noted = now;
    note().catch(() => { noted = ""; });
  }

  // The page that a device keeps becomes the step that the work had come to here.
  async function restore(code) {
    const pack = localStorage.getItem(LOCKED) ? null : await outbox.ahead(code);
    if (!pack) return false;
    const done = (await outbox.waiting()).filter((one) => one.code === code).map((one) => one.place);
    const one = after(pack, Math.max(pack.at.place - 1, ...done));
    document.body.dataset.idleSeconds = pack.idle;
    if (one) swap(one, pack);
    return Boolean(one);
  }

  async function leave(form) {
    await sending.drain();
    if ((await outbox.waiting()).length) {
      form.removeAttribute("data-resting");
      return sending.say(document.getElementById("kept").dataset.first);
    }
    await outbox.erase();
    drafts.erase();
    form.submit();
  }

  document.addEventListener("submit", (event) => {
    const { pathname } = new URL(event.target.action, location.href);
    if (!["/sign-out/", "/you/everywhere/", "/hand-over/"].includes(pathname)) return;
    event.preventDefault();
    leave(event.target).catch(() => event.target.submit());
  });
  document.addEventListener("htmx:afterSettle", arrived);
  document.addEventListener("DOMContentLoaded", async () => {
    arrived();
    const owners = await outbox.owners().catch(() => []);
    if (person() && owners.some((one) => one !== person())) {
      await outbox.erase();
      drafts.erase();
    }
  });

  return { after, swap, restore, lock: () => localStorage.setItem(LOCKED, "1") };
})();
