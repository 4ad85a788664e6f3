// Shows the kept notes when there is no signal. What is kept, and for how long, the page decides
// with the server's list (keeping.js); this worker only reads the shelf, and takes away from it
// what the server answers is gone. Film is never touched: a request for a part of a file, or for
// anything else than notes, stills and the page's own letters and styles, goes past it.

const SHELF = "flagline-notes";
const KEPT_AT = "flagline-kept";
const KEPT_FOR = "flagline-days";
const PATIENCE = 5000; // ms with a signal that carries nothing before the copy is shown
const STILL = /^\/stills\/[0-9a-f-]{36}\.jpg$/;

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin || request.headers.has("Range")) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (STILL.test(pathname) || pathname.startsWith("/static/")) event.respondWith(part(request));
});

async function page(request) {
  const copy = await kept(request);
  const answer = fetch(request).then(learn(request));
  const late = copy && new Promise((done) => setTimeout(done, PATIENCE));
  const first = await Promise.race([answer, late].filter(Boolean)).catch(() => null);
  if (first) return first;
  return copy ? dressed(copy) : answer.catch(() => instead());
}

async function part(request) {
  try {
    return await fetch(request).then(learn(request));
  } catch (fault) {
    const copy = await kept(request);
    if (copy) return copy;
    throw fault;
  }
}

/** What is out of sight now is off the shelf now; who has to sign in again has no shelf. */
function learn(request) {
  return async (answer) => {
    if (answer.type === "opaqueredirect") await caches.delete(SHELF);
    else if (answer.status === 403 || answer.status === 404) {
      const shelf = await caches.open(SHELF);
      await shelf.delete(request);
    }
    return answer;
  };
}

async function kept(request) {
  if (!(await caches.has(SHELF))) return null;
  const shelf = await caches.open(SHELF);
  const copy = await shelf.match(request);
  if (!copy) return null;
  const days = Number(copy.headers.get(KEPT_FOR));
  if (Date.now() - Date.parse(copy.headers.get(KEPT_AT)) < days * 86_400_000) return copy;
  await shelf.delete(request);
  return null;
}

async function instead() {
  const copy = await kept(new Request(`${registration.scope}not-kept/`));
  return copy ? dressed(copy) : Response.error();
}

/** The copy with its banner open from the first moment, so that nothing moves. */
async function dressed(copy) {
  const words = await copy.text();
  const headers = new Headers(copy.headers);
  const shown = words
    .replace('id="no-signal" hidden', 'id="no-signal"')
    .replace('data-kept=""', `data-kept="${headers.get(KEPT_AT)}"`);
  return new Response(shown, { headers });
}
