// Sends what was finished without network: in order, each until it is answered, one after another. Says in words how
// many wait and why. Nothing is dropped before the server has said what became of it.
"use strict";
window.sending = (() => {
  const AGAIN = 3000;
  const PATIENCE = 10000;
  const step = () => document.getElementById("step");
  const place = () => document.getElementById("kept");
  let isAway = false;
  let isSending = false;
  let state = "";
  let left = [];

  function say(words) {
    const notice = document.getElementById("notice");
    notice.textContent = words;
    notice.hidden = !words;
  }

  function words() {
    const said = place().dataset;
    const only = window.isSecureContext ? "" : ` ${said.open}`;
    if (left.length && (state === "pin" || state === "other")) return said[state];
    if (left.length && !isAway) return said.sending;
    if (left.length) return (left.length === 1 ? said.one : said.many) + only;
    return isAway && step() ? said.none + only : "";
  }

  function paint() {
    const text = words().replace("{n}", left.length);
    const door = place().querySelector(".kept-door");
    if (place().hidden === Boolean(text)) place().hidden = !text;
    const written = place().querySelector(".kept-words");
    if (written.textContent !== text) written.textContent = text;
    door.hidden = !left.length || !["pin", "other"].includes(state);
    if (left.length) door.href = `/make/${left[0].code}/`;
  }

  async function ask(url, options) {
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), PATIENCE);
    const asked = { cache: "no-store", redirect: "manual", signal: patience.signal, ...options };
    const answer = await fetch(url, asked).catch(() => null);
    clearTimeout(timer);
    return answer?.status >= 500 ? null : answer;
  }

  // The token is of the session that sends, not of the one that kept.
  const token = () => /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";

  async function send(one) {
    const body = new FormData();
    const now = new Date().toISOString();
    const said = { key: one.key, person: one.person, done_at: one.doneAt, sent_at: now };
    for (const [name, value] of Object.entries(said)) body.append(name, value);
    const answer = await ask(one.url, { method: "POST", body, headers: { "X-CSRFToken": token() } });
    if (!answer) return { state: "away" };
    if (answer.type === "opaqueredirect") return { state: "pin" };
    const told = await answer.json().catch(() => ({ state: answer.status === 403 ? "pin" : "away" }));
    return told.state === "of another" ? { state: "other" } : told;
  }

  function tell(told) {
    const text = { refused: told.sentence, "done already": place().dataset.twice }[told.state];
    if (text) sessionStorage.setItem("counterdraw-told", text);
  }

  async function sendAll() {
    const code = left[0].code;
    while (left.length) {
      const told = await send(left[0]);
      state = ["away", "pin", "other"].includes(told.state) ? told.state : "";
      isAway = state === "away";
      if (state) return;
      tell(told);
      await outbox.drop(left[0].number);
      left = await outbox.waiting();
      paint();
    }
    if (location.pathname === `/make/${code}/`) location.reload();
  }

  async function drain() {
    if (isSending) return;
    isSending = true;
    left = await outbox.waiting().catch(() => []);
    paint();
    if (left.length) await sendAll();
    else if (isAway) isAway = !(await ask("/away/", { method: "HEAD" }));
    isSending = false;
    paint();
    if (!isAway && !left.length && step()?.dataset.ahead !== undefined) location.reload();
  }

  function lost() {
    isAway = true;
    paint();
  }

  setInterval(() => { if (isAway || left.length) drain(); }, AGAIN);
  window.addEventListener("offline", lost);
  window.addEventListener("online", drain);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) drain(); });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful && !left.length) isAway = false;
    paint();
  });
  document.addEventListener("DOMContentLoaded", () => {
    say(sessionStorage.getItem("counterdraw-told") ?? "");
    sessionStorage.removeItem("counterdraw-told");
    drain();
  });
  return { drain, lost, say, isAway: () => isAway, kept: (one) => { left.push(one); lost(); } };
})();
