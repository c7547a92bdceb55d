//! The service worker: the page starts without a network, from the files of one build, and never from a mixture of two. It
//! answers for those files and for the page itself, and touches nothing else: what the server says of a code is never kept here.
//! `offline/build.ts` fills in the build and its files when the client is built.
//!
//! Which build is in use stands in a cache of its own, and only the page changes it (`offline/update`), between codes. It does not
//! hang on when a browser replaces one worker by the next: a reload, or a browser that was closed, would bring a new build into
//! a running code.
//!
//! Written by hand, since these few rules are all there is to reason about, and a library would bring more code than they are.
const BUILD = '__BUILD__';
/** Addresses of the build's files; `/` is the page. */
const FILES = ['__FILES__'];
const FILES_OF = 'coxswain build ';
const NOTES = 'coxswain notes';
/** Addresses of the server's own: a page opened there is not ours to answer. Nor is the review page: it shows what only the server has. */
const SERVERS = /^\/(api\/|review(?:\/|$)|ws$|healthz$|readyz$|metrics$|authority\.crt$)/;

const noted = async (name) => (await (await caches.open(NOTES)).match(name))?.text();
const note = async (name, text) => (await caches.open(NOTES)).put(name, new Response(text));

self.addEventListener('install', (event) => {
  event.waitUntil((async () => {
    // All of them, past the browser's own cache, or this build is not here.
    const cache = await caches.open(FILES_OF + BUILD);
    await cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })));
    await note('/newest', BUILD);
    if ((await noted('/in-use')) === undefined) await note('/in-use', BUILD);
    await self.skipWaiting();
  })());
});

self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

async function answer(request, file) {
  const build = await noted('/in-use');
  const kept = build === undefined ? undefined : await (await caches.open(FILES_OF + build)).match(file);
  return kept ?? fetch(request);
}

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin || SERVERS.test(url.pathname) || url.pathname === '/sw.js') return;
  event.respondWith(answer(request, request.mode === 'navigate' ? '/' : url.pathname));
});
