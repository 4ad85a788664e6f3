// Sending one film piece by piece (tus 1.0), so that after a lost line, a closed laptop or a page
// that was loaded anew it goes on where it was.

/** What can become of a film: the word is also the name of its sentence on the page. */
export const WHOLE = "whole";
export const REFUSED = "refused";
export const PAUSED = "paused";
export const CANCELLED = "cancelled";

/** What comes next after an answer. */
export const ON = "on";
export const AGAIN = "again";
export const ANEW = "anew";

const MEBIBYTE = 1024 * 1024;
const PIECE = 8 * MEBIBYTE;
const PATIENCE = 5 * 60 * 1000;
// How long somebody who stops waits for the answer that names what was just begun.
const SOON = 5 * 1000;
const WAITS = [1, 2, 5, 10, 20, 30];

/**
 * What an answer means. `isKnown`: the upload was begun before, so that 404 is about it and not
 * about the person.
 * @returns {{next: string} | {end: string, why: string, retry: boolean, status: number}}
 *   `why` is the server's own sentence or the name of one of ours.
 */
export function judge({ status, problem, isKnown }) {
  if (status >= 200 && status < 300) return { next: ON };
  if (status === 401) return end(REFUSED, "signedOut");
  if (status === 404 || status === 410) return isKnown ? { next: ANEW } : end(REFUSED, "noRight");
  if (status === 403) return end(REFUSED, problem || "noRight");
  if (status === 507) return end(REFUSED, problem || "unforeseen", { status });
  const passes = [0, 400, 408, 409, 423, 429, 460].includes(status) || status >= 500;
  if (passes) return { next: AGAIN };
  return end(REFUSED, problem || "unforeseen", { retry: !problem, status });
}

const end = (name, why, { retry = true, status = 0 } = {}) => ({ end: name, why, retry, status });

/** Seconds until the next try: soon at first, then ever more patient. */
export const wait = (tries) => WAITS[Math.min(tries, WAITS.length - 1)];

/** Where an upload is remembered; without the film's name, which may be a child's. */
export const mark = (url, file) => `arrival ${url} ${file.size} ${file.lastModified}`;

/**
 * SHA-256 of the first and the last MiB, as the portal makes it (uploading.fingerprint), so that it
 * knows a film before it is sent. Empty where the browser makes no sums: on plain http.
 */
export async function fingerprint(file) {
  if (!globalThis.crypto?.subtle) return "";
  const ends = new Blob([file.slice(0, MEBIBYTE), file.slice(Math.max(0, file.size - MEBIBYTE))]);
  const sum = await crypto.subtle.digest("SHA-256", await ends.arrayBuffer());
  return Array.from(new Uint8Array(sum), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export function metadata(file, notToBeShown, print = "") {
  const packed = (words) => btoa(String.fromCharCode(...new TextEncoder().encode(words)));
  return [
    `filename ${packed(file.name)}`,
    ...(file.type ? [`filetype ${packed(file.type)}`] : []),
    ...(notToBeShown ? ["not-to-be-shown"] : []),
    ...(print ? [`fingerprint ${packed(print)}`] : []),
  ].join(",");
}

/**
 * `onSent(bytes)` tells how far it is, `onWait()` that the line is lost and tried again.
 * @returns {{done: Promise<object>, pause: () => void, cancel: () => void}}
 */
export function send(file, options) {
  const sending = new Sending(file, options);
  return {
    done: sending.run(),
    pause: () => sending.stop(PAUSED),
    cancel: () => sending.stop(CANCELLED),
  };
}

/** Take an upload back that will not go on; what was stored of it goes. */
export function forget(file, { url, token }) {
  const address = localStorage.getItem(mark(url, file));
  localStorage.removeItem(mark(url, file));
  if (address) {
    const headers = { "Tus-Resumable": "1.0.0", "X-CSRFToken": token };
    // Whatever comes of it, the portal sweeps what is left.
    fetch(address, { method: "DELETE", headers }).catch(() => {});
  }
}

class Sending {
  constructor(file, options) {
    Object.assign(this, options, { file, stopped: "", offset: null, tries: 0 });
    this.mark = mark(this.url, file);
    this.address = localStorage.getItem(this.mark);
  }

  stop(how) {
    this.stopped = how;
    // What is just being begun has no address yet: without it nobody could take it back.
    if (this.address) this.request?.abort();
    else if (this.request) this.request.timeout = SOON;
    this.wake?.();
  }

  async run() {
    while (!this.stopped) {
      const answer = await this.step();
      if (answer.location) this.remember(answer.location);
      if (this.stopped) break;
      const said = judge({ ...answer, isKnown: Boolean(this.address) });
      if (said.end) {
        if (answer.status === 422) localStorage.removeItem(this.mark);
        return said;
      }
      if (said.next === ON) this.moved(answer);
      else await this.lost(said.next);
      if (this.offset === this.file.size) {
        localStorage.removeItem(this.mark);
        return end(WHOLE, "", { retry: false });
      }
    }
    if (this.stopped === CANCELLED) forget(this.file, this);
    return end(this.stopped, "");
  }

  remember(address) {
    this.address = address;
    localStorage.setItem(this.mark, address);
  }

  async step() {
    if (!this.address) {
      // A film that cannot be read any more fails when it is sent, and is told about then.
      const print = await fingerprint(this.file).catch(() => "");
      return this.ask("POST", this.url, {
        "Upload-Length": this.file.size,
        "Upload-Metadata": metadata(this.file, this.notToBeShown, print),
      });
    }
    if (this.offset === null) return this.ask("HEAD", this.address);
    const piece = this.file.slice(this.offset, this.offset + PIECE, "application/offset+octet-stream");
    const headers = {
      "Upload-Offset": this.offset,
      "Content-Type": "application/offset+octet-stream",
    };
    return this.ask("PATCH", this.address, headers, piece);
  }

  moved({ offset }) {
    if (offset > (this.offset ?? -1)) this.tries = 0;
    this.offset = offset;
    this.onSent(offset);
  }

  async lost(next) {
    // Bytes on the way count for nothing until the portal has said that it has them.
    if (this.offset !== null) this.onSent(this.offset);
    this.offset = null;
    if (next === ANEW) {
      this.address = null;
      localStorage.removeItem(this.mark);
      return;
    }
    this.onWait();
    const pause = wait(this.tries++) * 1000;
    await new Promise((resolve) => {
      this.wake = resolve;
      setTimeout(resolve, pause);
      addEventListener("online", resolve, { once: true });
    });
  }

  ask(method, address, headers = {}, body = null) {
    const request = (this.request = new XMLHttpRequest());
    const from = this.offset ?? 0;
    request.open(method, address);
    request.timeout = PATIENCE;
    const all = { "Tus-Resumable": "1.0.0", "X-CSRFToken": this.token, ...headers };
    for (const [name, value] of Object.entries(all)) request.setRequestHeader(name, value);
    if (body) {
      request.upload.addEventListener("progress", ({ loaded }) => this.onSent(from + loaded));
    }
    return new Promise((resolve) => {
      request.addEventListener("loadend", () => resolve(read(request)));
      request.send(body);
    });
  }
}

function read(request) {
  return {
    status: request.status,
    problem: problemIn(request.responseText),
    location: request.getResponseHeader("Location"),
    offset: Number(request.getResponseHeader("Upload-Offset") ?? 0),
  };
}

function problemIn(words) {
  try {
    return JSON.parse(words).problem ?? "";
  } catch {
    return "";
  }
}
