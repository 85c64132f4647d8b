// Answers from the device's own copy, so that the sheet opens without signal.
// The copy is whole or not there: a new version waits beside the old one until it is used.

const APP = `field-app-${PARTS.app.version}`;
const RUNTIME = `field-runtime-${PARTS.runtime.version}`;
const OWN = new Set([...PARTS.app.files, "/field/app.webmanifest", "/field/parts.json"]);

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches.open(APP).then((cache) =>
      cache.addAll([...OWN].map((address) => new Request(address, { cache: "reload" })))),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("field-") && ![APP, RUNTIME].includes(name)) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("message", (event) => {
  if (event.data === "tell your parts") event.ports[0].postMessage(PARTS);
  if (event.data === "use the new version") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { pathname, origin, search } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  if (search && pathname in PARTS.runtime.files) return; // asks for other bytes than are kept
  if (OWN.has(pathname)) event.respondWith(from(APP, pathname, event.request));
  else if (pathname in PARTS.runtime.files) {
    event.respondWith(from(RUNTIME, pathname, event.request));
  }
});

async function from(name, pathname, request) {
  return (await caches.match(pathname, { cacheName: name })) ?? fetch(request); // opening would make it
}

// Comes when there is signal, also where no sheet is open. What is still waiting then fails it: the
// browser asks again by itself.
self.addEventListener("sync", (event) => {
  if (event.tag === "send") event.waitUntil(send());
});

async function send() {
  const waits = self.sendWaiting && (await self.sendWaiting());
  for (const client of await self.clients.matchAll()) client.postMessage("send");
  if (waits) throw new Error("not all of it could be sent");
}
