/* Shows the hand's page where there is no signal: the last copy that the server gave, and what it is drawn with. */
"use strict";
const PAGES = "day-pages", PARTS = "day-parts", PATIENCE_MS = 5000;

addEventListener("install", (event) => event.waitUntil(skipWaiting()));
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

const keep = async (name, request, answer) => {
  if (answer.ok && !answer.redirected) await (await caches.open(name)).put(request, answer.clone());
  return answer;
};

const page = async (request) => {
  const asked = fetch(request).then((answer) => keep(PAGES, request, answer));
  const kept = await (await caches.open(PAGES)).match(request);
  if (!kept) return asked;
  const patience = new Promise((done) => setTimeout(() => done(kept), PATIENCE_MS));
  return Promise.race([asked.then((answer) => (answer.status < 500 ? answer : kept), () => kept), patience]);
};

const part = async (request, event) => {
  const kept = await (await caches.open(PARTS)).match(request);
  const asked = fetch(request).then((answer) => keep(PARTS, request, answer));
  if (!kept) return asked;
  event.waitUntil(asked.catch(() => undefined));
  return kept;
};

addEventListener("fetch", (event) => {
  const request = event.request, url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (["style", "script", "image"].includes(request.destination)) event.respondWith(part(request, event));
});
