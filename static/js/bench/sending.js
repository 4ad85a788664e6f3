// The line to the server, and the drawer in the browser for what could not be sent.

/** `send(url, body)` gives `{status, answer}`; throws when the line is lost. Status 0: signed out. */
export function makeSender(token) {
  return async (url, body) => {
    const reply = await fetch(url, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token },
      body: JSON.stringify(body),
      // Who is signed out is sent to sign in, and that page is no answer.
      redirect: "manual",
    });
    const isJson = reply.headers.get("Content-Type")?.startsWith("application/json");
    return { status: reply.status, answer: isJson ? await reply.json() : null };
  };
}

/** Drafts of one reader and one clip, under `prefix` and their codes. */
export function openDrawer(prefix, storage = localStorage) {
  const keys = () => Array.from({ length: storage.length }, (_, place) => storage.key(place));
  return {
    put: (draft) => storage.setItem(prefix + draft.code, JSON.stringify(draft)),
    remove: (code) => storage.removeItem(prefix + code),
    all: () =>
      keys()
        .filter((key) => key.startsWith(prefix))
        .map((key) => JSON.parse(storage.getItem(key))),
  };
}

/** Of the page's own making, so that a comment sent twice is one. */
export function newCode() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}
