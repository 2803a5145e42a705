// What is being typed outlives a page that goes away. On a step it stays on the device until the step is another; at a
// check it stays in this one page (a reload, a call, a phone short of memory) and nowhere else. Never a PIN, and
// never the drawn plunger, which starts empty whatever was there before.
"use strict";
window.drafts = (() => {
  const NAME = "counterdraw-typed";
  const FIELDS = "input:not([type]), input[type=text], textarea";
  const place = () => document.getElementById("step") ?? document.getElementById("check");
  const store = () => (place()?.id === "step" ? localStorage : sessionStorage);
  const about = () => `${document.body.dataset.person} ${location.pathname} ${place().dataset.step ?? place().dataset.syringe ?? ""}`;

  function read() {
    try {
      const kept = JSON.parse(store().getItem(NAME) ?? "{}");
      return kept.about === about() ? kept.fields : {};
    } catch {
      return {};
    }
  }

  function typed(event) {
    const field = event.target;
    if (!place()?.contains(field) || !field.matches(FIELDS) || !field.name || field.closest(".plunger")) return;
    store().setItem(NAME, JSON.stringify({ about: about(), fields: { ...read(), [field.name]: field.value } }));
  }

  function bring() {
    if (!place()) return;
    for (const [name, value] of Object.entries(read())) {
      const field = place().querySelector(`:is(input, textarea)[name="${CSS.escape(name)}"]`);
      if (!field || field.value || !value || field.closest(".plunger")) continue;
      field.value = value;
      field.dispatchEvent(new Event("input", { bubbles: true }));
      if (field.closest("details")) field.closest("details").open = true;
    }
  }

  document.addEventListener("input", typed);
  document.addEventListener("htmx:afterSettle", bring);
  document.addEventListener("DOMContentLoaded", bring);
  return {
    erase: () => {
      localStorage.removeItem(NAME);
      sessionStorage.removeItem(NAME);
    },
  };
})();
