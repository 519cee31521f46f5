// The service worker of the Log page: answers for the page and its files from what it keeps, so that they need no desk.
// VERSION and KEPT are set by the server, above. A new version waits until the open pages are closed, or one of them asks for it.

const CACHE = `stillwing-log-${VERSION}`;

addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    await cache.addAll(KEPT.map((address) => new Request(address, { cache: "reload" })));
  })());
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("stillwing-log-") && name !== CACHE) await caches.delete(name);
    await clients.claim();
  })());
});

addEventListener("message", (event) => {
  if (event.data === "take over") skipWaiting();
});

addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin || !KEPT.includes(address.pathname)) return;
  event.respondWith((async () => (await (await caches.open(CACHE)).match(address.pathname, { ignoreVary: true })) ?? fetch(event.request))());
});
