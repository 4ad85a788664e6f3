// Keeps the newest notes and their stills on a family's phone, and says when there is no signal.
// The server's list is the only measure: what is not on it goes. Without the script, or in a
// browser that knows no worker, the pages are as before.

const SHELF = "flagline-notes";
const OFTEN = 12 * 3_600_000; // ms after which unchanged copies are taken anew
const banner = document.querySelector("#no-signal");

if ("serviceWorker" in navigator && "caches" in window) {
  // Whoever is no family, or is none any more, keeps nothing.
  if (banner) start();
  else caches.delete(SHELF);
}

async function start() {
  addEventListener("offline", tell);
  addEventListener("online", () => (banner.dataset.kept ? location.reload() : untell()));
  for (const form of document.querySelectorAll("form[data-leaves]")) {
    form.addEventListener("submit", () => caches.delete(SHELF));
  }
  if (banner.dataset.kept) tell();
  // What is read now comes first on a thin line.
  if (document.readyState !== "complete") await new Promise((go) => addEventListener("load", go));
  navigator.serviceWorker.register(banner.dataset.worker).catch(() => {});
  document.documentElement.dataset.shelf = await keep().catch(() => "none");
}

/** `kept`, `empty`, or `none` when the server could not be asked. */
async function keep() {
  const answer = await ask();
  if (answer === null) return "none";
  if (answer.redirected || [401, 403, 404].includes(answer.status)) return clear();
  if (!answer.ok) return "none";
  const list = await answer.json();
  if (list.pages.length === 0) return clear();
  const shelf = await caches.open(SHELF);
  await prune(shelf, [...list.pages, ...list.stills]);
  if (await isFresh(shelf, list)) return "kept";
  const parts = [...list.stills, ...ownParts()];
  for (const address of [...list.pages, ...parts]) await put(shelf, address, list.days);
  await mark(shelf, list);
  return "kept";
}

async function ask() {
  try {
    return await fetch(banner.dataset.list, { signal: AbortSignal.timeout(10_000) });
  } catch {
    tell();
    return null;
  }
}

async function clear() {
  await caches.delete(SHELF);
  return "empty";
}

async function prune(shelf, wanted) {
  const own = new Set(wanted.map(whole));
  for (const { url } of await shelf.keys()) {
    const { pathname } = new URL(url);
    if (!own.has(url) && !pathname.startsWith("/static/") && url !== whole(banner.dataset.list)) {
      await shelf.delete(url);
    }
  }
}

async function isFresh(shelf, list) {
  const marked = await shelf.match(banner.dataset.list);
  if (!marked) return false;
  const { stamp, at } = await marked.json();
  return stamp === list.stamp && Date.now() - at < OFTEN;
}

function mark(shelf, { stamp }) {
  return shelf.put(banner.dataset.list, Response.json({ stamp, at: Date.now() }));
}

/** Styles, letters and scripts that this page has loaded, by their own addresses. */
function ownParts() {
  const loaded = performance.getEntriesByType("resource").map((entry) => entry.name);
  const named = [...document.querySelectorAll("link[rel=stylesheet], link[rel=preload]")];
  const all = new Set([...loaded, ...named.map((link) => link.href)]);
  return [...all].filter((url) => url.startsWith(`${location.origin}/static/`));
}

async function put(shelf, address, days) {
  const answer = await fetch(address, { headers: { "Flagline-Keeps": "1" } }).catch(() => null);
  // With the mark on it, it is the worker’s own old copy, which must not be kept as a new one.
  if (!answer?.ok || answer.redirected || answer.headers.has("flagline-kept")) return;
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  headers.set("flagline-kept", new Date().toISOString());
  headers.set("flagline-days", days);
  await shelf.put(address, new Response(await answer.blob(), { headers }));
}

function whole(address) {
  return new URL(address, location.href).href;
}

function tell() {
  const { kept } = banner.dataset;
  const saved = banner.querySelector("time");
  if (kept) {
    const form = { weekday: "long", hour: "2-digit", minute: "2-digit" };
    saved.dateTime = kept;
    saved.textContent = new Date(kept).toLocaleString(document.documentElement.lang, form);
  }
  banner.querySelector("[data-copy]").hidden = !kept;
  banner.hidden = false;
  for (const button of document.querySelectorAll("form button")) button.disabled = true;
}

function untell() {
  banner.hidden = true;
  for (const button of document.querySelectorAll("form button")) button.disabled = false;
}
