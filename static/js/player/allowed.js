// Film that may no longer be seen leaves a page that lies open, also what the browser has loaded
// of it. The portal is asked again and again, and refuses as it would refuse the page.

const EVERY = 4000; // ms

/** The films on the page of which something can be seen, by their addresses. */
function shown() {
  const films = new Map();
  for (const video of document.querySelectorAll("video")) {
    const address = video.closest("[data-film]")?.dataset.film ?? video.getAttribute("src");
    if (address && video.readyState > HTMLMediaElement.HAVE_NOTHING) films.set(address, video);
  }
  return films;
}

/** Without a line nobody knows; then it is asked again. */
async function isRefused(address) {
  try {
    const answer = await fetch(address, { method: "HEAD", redirect: "manual", cache: "no-store" });
    return answer.type === "opaqueredirect" || [401, 403, 404].includes(answer.status);
  } catch {
    return false;
  }
}

async function look() {
  if (document.visibilityState !== "visible") return;
  const films = [...shown()];
  const refused = await Promise.all(films.map(([address]) => isRefused(address)));
  if (!refused.includes(true)) return;
  films.forEach(([, video], place) => refused[place] && empty(video));
  // What may still be seen, and the words for the rest, the page itself knows best.
  location.reload();
}

function empty(video) {
  video.pause();
  video.hidden = true;
  video.removeAttribute("src");
  video.removeAttribute("poster");
  video.load();
}

setInterval(look, EVERY);
// Whoever comes back to the page waits for no interval.
document.addEventListener("visibilitychange", look);
