// Keeps the program's own files and one page, so that a tablet that lost its network still opens. It never keeps a
// page of anybody's work: what is open at the bench lies in the database of that page alone (js/outbox.js).
// A new version waits until somebody takes it between two preparations (js/installed.js).
"use strict";
const KEPT = "counterdraw-{{ version }}";
const FILES = {{ kept|safe }};
const AWAY = "{{ away }}";

// Whoever is signed in while the page is fetched must not be on it: it is asked for as nobody.
async function keep() {
  const cache = await caches.open(KEPT);
  await cache.addAll(FILES.map((file) => new Request(file, { cache: "reload", credentials: "omit" })));
}

async function forget() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name !== KEPT).map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function navigate(request) {
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(AWAY)) ?? Response.error();
  }
}

async function file(request) {
  return (await caches.match(request)) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(keep()));
self.addEventListener("activate", (event) => event.waitUntil(forget()));
self.addEventListener("message", (event) => {
  if (event.data === "take") self.skipWaiting();
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  if (request.mode === "navigate") event.respondWith(navigate(request));
  else if (FILES.includes(new URL(request.url).pathname)) event.respondWith(file(request));
});
