// Answers when the computer at home does not: with one page (AWAY: the danger list, whom to call, what is unsent) and the
// files that it needs. Nothing else is ever kept: a sum, the feed and the log come from the computer at home or not at
// all. The server puts CACHE, AWAY and FILES before this (assistant/channels/web/worker.py).
const WAITS_MS = 8000;
const PART = { headers: { "x-bagside": "part" } };  // a refusal is then no way to the pairing page
let lost = false;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(fetched());
});

self.addEventListener("activate", (event) => event.waitUntil(alone()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate" && request.destination === "document") event.respondWith(opened(event));
  else if (FILES.includes(url.pathname)) event.respondWith(file(request));
});

async function fetched() {
  const cache = await caches.open(CACHE);
  const page = await fetch(AWAY, PART);
  if (!page.ok) throw new Error(String(page.status));
  await cache.addAll(FILES);
  await cache.put(AWAY, page);
}

// Caches of other versions go, and pages that are open are served by this one.
async function alone() {
  for (const name of await caches.keys()) {
    if (name !== CACHE) await caches.delete(name);
  }
  await self.clients.claim();
}

async function opened(event) {
  try {
    const page = await intime(fetch(event.request));
    lost = false;
    event.waitUntil(renew().catch(() => {}));
    return page;
  } catch {
    lost = true;
    return (await kept(AWAY)) ?? Response.error();
  }
}

// The list as it stands now. A phone that is not paired any more keeps none.
async function renew() {
  const cache = await caches.open(CACHE);
  const page = await fetch(AWAY, PART);
  if (page.ok) await cache.put(AWAY, page);
  else if (page.status === 401) await cache.delete(AWAY);
}

async function file(request) {
  const old = await kept(request);
  if (lost && old) return old;
  try {
    return await intime(fetch(request));
  } catch (fault) {
    if (old) return old;
    throw fault;
  }
}

async function kept(what) {
  return (await caches.open(CACHE)).match(what);
}

function intime(answer) {
  return Promise.race([answer, new Promise((_, refuse) => { setTimeout(() => refuse(new Error("late")), WAITS_MS); })]);
}
