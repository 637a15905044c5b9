// The service worker. A page that its answer says may be kept is asked of the network first, and
// shown as it was last seen when there is no signal; a static file whose name carries a hash never
// changes, so the copy will do. Kept pages belong to one person, and go when anybody signs in or out.

const VERSION = "{{ version|escapejs }}";
const STATIC = "{{ static|escapejs }}";
const WORDS = "{{ words|escapejs }}";
const START = "{{ start|escapejs }}";
const LOGIN = "{{ login|escapejs }}";
const GATES = [{% for gate in gates %}"{{ gate|escapejs }}", {% endfor %}];
const KEPT_FOR = "{{ kept_for|escapejs }}";

const FILES = `files-${VERSION}`;
const PAGES = "pages-";
const PATIENCE_MS = 4000; // then a kept page will do
const FRESH_MS = 30 * 60 * 1000; // a page kept so lately is not fetched ahead again

// Goes up whenever the kept pages are wiped: an answer that was asked for before comes too late.
let wiped = 0;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(begin()));

async function begin() {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PAGES) && name !== FILES) await caches.delete(name);
  }
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method !== "GET") {
    if (GATES.some((gate) => url.pathname.startsWith(gate))) event.waitUntil(forget());
  } else if ([STATIC, WORDS].some((place) => url.pathname.startsWith(place))) event.respondWith(file(event));
  else if (request.mode === "navigate") event.respondWith(page(event));
});

// A page says which pages and files to have at hand, and which of them it knows to be out of date.
self.addEventListener("message", (event) => {
  const { keep, files, anew } = event.data ?? {};
  if (files) event.waitUntil(keepFiles(files));
  if (keep) event.waitUntil(keepAhead(keep, Boolean(anew)));
});

async function page(event) {
  const { request } = event;
  const before = wiped;
  const answer = fetch(request);
  event.waitUntil(answer.then((found) => look(request.url, found.clone(), before)).catch(() => {}));
  const copy = await kept(request.url);
  if (!copy) return answer.catch(nothing);
  const found = await Promise.race([answer, late()]).catch(() => undefined);
  return found && ![502, 503, 504].includes(found.status) ? found : copy;
}

function late() {
  return new Promise((resolve) => setTimeout(resolve, PATIENCE_MS));
}

// Keep the page if it says so; being shown the sign-in page means that whoever it was is gone.
async function look(url, answer, before) {
  const owner = answer.headers.get(KEPT_FOR);
  if (owner && answer.status === 200 && before === wiped) {
    await forget(PAGES + owner);
    const cache = await caches.open(PAGES + owner);
    await cache.put(url, answer);
    if (before !== wiped) await caches.delete(PAGES + owner);
  } else if (answer.status === 200 && new URL(answer.url || url).pathname === LOGIN) await forget();
}

async function forget(except = "") {
  if (!except) wiped += 1;
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) && name !== except) await caches.delete(name);
  }
}

async function stored(url) {
  for (const name of await caches.keys()) {
    const found = name.startsWith(PAGES) && (await (await caches.open(name)).match(url, { ignoreVary: true }));
    if (found) return found;
  }
  return undefined;
}

// The page as it was last seen; it says so itself, once it is marked.
async function kept(url) {
  const found = await stored(url);
  if (!found) return undefined;
  const headers = new Headers(found.headers);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  return new Response((await found.text()).replace(" data-fresh", " data-kept"), { headers });
}

async function keepAhead(urls, anew) {
  for (const url of urls) {
    const before = wiped;
    const found = await stored(url);
    const age = found ? Date.now() - Date.parse(found.headers.get("Date")) : Infinity;
    if (!anew && age < FRESH_MS && age > -FRESH_MS) continue;
    try {
      await look(url, await fetch(url, { credentials: "same-origin" }), before);
    } catch {
      return;
    }
  }
}

async function keepFiles(urls) {
  const cache = await caches.open(FILES);
  for (const url of urls) {
    if (!(await cache.match(url, { ignoreVary: true }))) await cache.add(url).catch(() => {});
  }
}

async function file({ request }) {
  const cache = await caches.open(FILES);
  const copy = await cache.match(request, { ignoreVary: true });
  if (copy && /\.[0-9a-f]{12}\.|\?v=[0-9a-f]/.test(request.url)) return copy;
  try {
    const answer = await fetch(request);
    if (answer.status === 200) await cache.put(request, answer.clone());
    return answer;
  } catch (error) {
    if (copy) return copy;
    throw error;
  }
}

{% translate "No signal" as no_signal %}{% translate "The server cannot be reached, and this page is not kept on this phone." as not_kept %}{% translate "This week" as this_week %}function nothing() {
  const text = `<!doctype html><html lang="{{ LANGUAGE_CODE|escapejs }}"><meta charset="utf-8"><title>{{ no_signal|escapejs }}</title>
<meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark">
<body><h1>{{ no_signal|escapejs }}</h1><p>{{ not_kept|escapejs }}</p>
<p><a href="${START}">{{ this_week|escapejs }}</a></p>`;
  return new Response(text, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
