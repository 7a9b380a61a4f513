// Keeps the sheet on the phone: everything it needs is there when the gym has no network.
const SHELF = "overbar-sheet-2";

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(SHELF)
      .then((shelf) => shelf.addAll(["/sheet/static/sheet.css", "/sheet/static/sheet.js", "/sheet/static/bar.svg"]))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(names.filter((name) => name !== SHELF).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

// The network first, since a plan may have changed; what was kept when it does not answer.
self.addEventListener("fetch", (event) => {
  // The week itself is kept by the page, which must know how old it is.
  if (event.request.method !== "GET" || event.request.url.endsWith("/session.json")) return;
  event.respondWith((async () => {
    const shelf = await caches.open(SHELF);
    try {
      const answer = await fetch(event.request);
      if (answer.ok) await shelf.put(event.request, answer.clone());
      return answer;
    } catch (error) {
      const kept = await shelf.match(event.request);
      if (kept) return kept;
      throw error;
    }
  })());
});
