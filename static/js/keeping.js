// A press without network. A step that goes on alone is kept (js/outbox.js) and only then is the next one shown; any
// other stays, with what was typed on it, and says why it waits. Tried over the network first, unless it is known
// to be gone or earlier steps still wait: then a step may not overtake them.
"use strict";
(() => {
  const NO_ANSWER = [502, 503, 504];
  const step = () => document.getElementById("step");
  const said = () => document.getElementById("kept").dataset;
  const isAlone = () => step()?.dataset.ahead !== undefined;

  // Why it cannot go on alone; empty where it can.
  function waits(pack, place) {
    const { goes, why, tooEarly } = step().dataset;
    const now = pack?.steps.find((one) => one.place === place);
    const until = Date.parse(pack?.at.until ?? "") + pack?.offset;
    if (!pack || !now || !ahead.after(pack, place)) return document.getElementById("notice").dataset.lost;
    if (goes === "waits" || (goes === "over" && isAlone())) return why;
    if (goes === "over" && !step().querySelector(".dwell.is-over")) return tooEarly;
    return now.isInHood && Date.now() >= until ? said().over : "";
  }

  async function finish(form) {
    const { code, place, kept } = step().dataset;
    const doneAt = new Date().toISOString();
    const one = { code, place: Number(place), url: `${kept}${place}/`, key: form.elements.key.value, doneAt };
    form.toggleAttribute("data-resting", true);
    const pack = await outbox.ahead(code);
    const earlier = await outbox.waiting();
    const isStale = !isAlone() && earlier.some((other) => other.code === code && other.place >= one.place);
    const why = isStale ? said().first : waits(pack, one.place);
    if (why) return stay(form, why);
    const whole = { ...one, person: document.body.dataset.person || pack.person };
    await outbox.keep(whole);
    sending.say("");
    sending.kept(whole);
    ahead.swap(ahead.after(pack, one.place), pack);
  }

  function stay(form, why) {
    form.removeAttribute("data-resting");
    sending.say(why);
  }

  const keep = (form) => finish(form).catch(() => stay(form, said().full));
  const isAct = (form) => form?.id === "act" && Boolean(step()?.dataset.kept);

  function lost(event) {
    sending.lost();
    if (isAct(event.target)) keep(event.target);
  }

  document.addEventListener("htmx:beforeRequest", (event) => {
    const form = event.target;
    if (!(isAlone() || (isAct(form) && sending.isAway()))) return;
    event.preventDefault();
    if (isAct(form)) keep(form);
    else stay(form, document.getElementById("notice").dataset.lost);
  });
  document.addEventListener("htmx:sendError", lost);
  document.addEventListener("htmx:timeout", lost);
  document.addEventListener("htmx:responseError", (event) => {
    if (NO_ANSWER.includes(event.detail.xhr.status)) lost(event);
  });
  // A plain form would lose what was typed to the browser's own page of errors.
  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented || event.target.hasAttribute("hx-post") || navigator.onLine !== false) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    stay(event.target, document.getElementById("notice").dataset.lost);
  }, true);
})();
