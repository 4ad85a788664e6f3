// Keeps a comment on the server while it is being written. One request at a time, each with the
// version it builds on; until the server has answered, the browser keeps a copy of its own.

export const WAIT_MS = 1000;
const RETRY_MS = [3000, 6000, 12000, 30000];

/**
 * `draft` is `{code, version, url, fields}`; `version` 0 means the server does not know it yet.
 * `send(url, body)` gives `{status, answer}` or throws when the line is lost; `store` has
 * `put(draft)` and `remove(code)`. `tell(name, detail)` hears `keeping`, `kept {comment}`,
 * `refused {errors}`, `stale {theirs}`, `gone`, `signedOut` and `lost`.
 */
export function createKeeper(draft, { writeUrl, send, store, tell, later = inTime }) {
  return new Keeper(draft, { writeUrl, send, store, tell, later });
}

const inTime = (act, wait) => setTimeout(act, wait);

class Keeper {
  constructor(draft, { writeUrl, send, store, tell, later }) {
    Object.assign(this, { writeUrl, sendTo: send, store, tell, later });
    Object.assign(this, { code: draft.code, version: draft.version, url: draft.url });
    this.fields = draft.fields;
    this.acknowledged = draft.version ? JSON.stringify(draft.fields) : null;
    this.theirs = null;
    this.running = null;
    this.turn = 0;
    this.failures = 0;
  }

  get isDirty() {
    return JSON.stringify(this.fields) !== this.acknowledged;
  }

  /** What stands on the slip now; sent when nothing was typed for a second. */
  put(fields) {
    this.fields = fields;
    if (!this.isDirty) return;
    this.remember();
    this.schedule(WAIT_MS);
  }

  /** Send what a page before this one could not. */
  resume() {
    this.acknowledged = null;
    return this.flush();
  }

  /** Send now. Resolves with the name of what was told last, `kept` when all of it stands. */
  async flush() {
    this.turn += 1;
    this.running ??= this.work().finally(() => (this.running = null));
    return await this.running;
  }

  /** Go on from what somebody else kept; `fields` is what shall stand now. */
  async settle(fields) {
    this.version = this.theirs.version;
    this.acknowledged = null;
    this.theirs = null;
    this.fields = fields;
    this.remember();
    return await this.flush();
  }

  /** Let stand what somebody else kept. */
  adopt(fields) {
    this.version = this.theirs.version;
    this.theirs = null;
    this.fields = fields;
    this.stop();
  }

  /** Nothing of it shall be sent any more. */
  stop() {
    this.turn += 1;
    this.acknowledged = JSON.stringify(this.fields);
    this.store.remove(this.code);
  }

  schedule(wait) {
    this.turn += 1;
    const turn = this.turn;
    this.later(() => turn === this.turn && this.flush(), wait);
  }

  remember() {
    const { code, version, url, fields } = this;
    this.store.put({ code, version, url, fields });
  }

  async work() {
    let outcome = this.theirs ? "stale" : "kept";
    while (this.isDirty && outcome === "kept") {
      this.tell("keeping", {});
      outcome = await this.deliver(this.fields);
    }
    return outcome;
  }

  async deliver(fields) {
    let reply;
    try {
      reply = this.version
        ? await this.sendTo(this.url, { version: this.version, ...fields })
        : await this.sendTo(this.writeUrl, { code: this.code, ...fields });
    } catch {
      return this.retry("lost");
    }
    return this.hear(reply, fields);
  }

  hear({ status, answer }, fields) {
    if (status === 200 || status === 201) return this.keep(answer, fields, status);
    if (status === 409) {
      this.theirs = answer.theirs;
      return this.say("stale", { theirs: answer.theirs });
    }
    if (status === 422) return this.say("refused", { errors: answer.errors });
    if (status === 404) return this.say("gone");
    return status === 0 || status === 403 ? this.retry("signedOut") : this.retry("lost");
  }

  keep(comment, fields, status) {
    // A first sending whose answer was lost: the server has it, perhaps with older words.
    const isOldNews = this.version === 0 && status === 200;
    this.version = comment.version;
    this.url = comment.urls.change;
    this.failures = 0;
    if (!isOldNews) this.acknowledged = JSON.stringify(fields);
    if (this.isDirty) this.remember();
    else this.store.remove(this.code);
    return isOldNews ? "kept" : this.say("kept", { comment });
  }

  retry(name) {
    this.schedule(RETRY_MS[Math.min(this.failures, RETRY_MS.length - 1)]);
    this.failures += 1;
    return this.say(name);
  }

  say(name, detail = {}) {
    this.tell(name, detail);
    return name;
  }
}
