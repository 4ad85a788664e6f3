// Asks the server every two seconds what others said on this clip; rests while nobody looks.

export const EVERY_MS = 2000;

/**
 * `ask(tag)` gives `{status, tag, comments}`, with status 304 when nothing has changed since
 * `tag`; it may throw. `writes()` counts what this page itself has kept: an answer that was on
 * its way meanwhile may be older than that, and is asked for again. `heard(comments)` gets all.
 */
export function createListener({ ask, writes, heard, isHidden = () => document.hidden }) {
  let tag = "";
  return {
    async listen() {
      if (isHidden()) return;
      const before = writes();
      const reply = await ask(tag).catch(() => null);
      if (reply?.status !== 200) return;
      if (writes() !== before) return;
      tag = reply.tag;
      heard(reply.comments);
    },
  };
}

/** Listens from now on, at once when the page comes back into sight. */
export function keepListening(listener) {
  let timer = 0;
  const round = async () => {
    clearTimeout(timer);
    await listener.listen();
    clearTimeout(timer);
    if (!document.hidden) timer = setTimeout(round, EVERY_MS);
  };
  document.addEventListener("visibilitychange", () => !document.hidden && round());
  timer = setTimeout(round, EVERY_MS);
}

/** Whether there is news is asked by HEAD: that nobody is at the page must not keep its session. */
export const makeAsker = (url) => async (tag) => {
  const how = { cache: "no-store", redirect: "manual" };
  if (tag) {
    const headers = { "If-None-Match": tag };
    const { status } = await fetch(url, { ...how, headers, method: "HEAD" });
    if (status !== 200) return { status, tag, comments: [] };
  }
  const reply = await fetch(url, how);
  const comments = reply.status === 200 ? (await reply.json()).comments : [];
  return { status: reply.status, tag: reply.headers.get("ETag") ?? "", comments };
};

/**
 * Pure: what stands on the page once the server's list is heard. `mine` is a Map by code of what
 * the page knows; `isBusy(code)` where it has words that are not sent yet.
 * @returns {{changed: object[], gone: object[]}} newer ones, and ones that are no longer there
 */
export function compare(mine, theirs, isBusy) {
  const listed = new Set(theirs.map(({ code }) => code));
  const changed = theirs.filter((comment) => {
    const known = mine.get(comment.code);
    return !isBusy(comment.code) && JSON.stringify(known) !== JSON.stringify(comment)
      && comment.version >= (known?.version ?? 0);
  });
  const gone = [...mine.values()].filter(
    ({ code, isDropped }) => !isDropped && !listed.has(code) && !isBusy(code),
  );
  return { changed, gone };
}
