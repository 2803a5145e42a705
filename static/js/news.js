// A list that is polled: something new on it shakes the phone, is said to a screen reader, and is
// counted in the title. Rows carry data-news (who they are) and data-said (in words).
"use strict";
(() => {
  const SHAKE = [180, 90, 180];
  const title = document.title;
  const rows = () => [...document.querySelectorAll("[data-news]")];
  let known = null;

  function look() {
    const now = rows();
    document.title = now.length ? `(${now.length}) ${title}` : title;
    const fresh = known ? now.filter((row) => !known.has(row.dataset.news)) : [];
    known = new Set(now.map((row) => row.dataset.news));
    if (!fresh.length) return;
    for (const row of fresh) row.classList.add("is-new");
    navigator.vibrate?.(SHAKE);
    const news = document.getElementById("news");
    if (news) news.textContent = `${news.dataset.new} ${fresh.map((row) => row.dataset.said).join("; ")}`;
  }

  document.addEventListener("htmx:afterSettle", look);
  document.addEventListener("DOMContentLoaded", look);
})();
