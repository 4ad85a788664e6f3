// The review bench: film, rope and slip of one clip, and the comments that stand on it.

import { announce } from "../kit/announce.js";
import { bindKeys } from "../kit/keys.js";
import { createDrive } from "../player/drive.js";
import { createPlayer } from "../player/player.js";
import { createNearRope, createRope } from "../player/rope.js";
import { createKeeper } from "./keeping.js";
import { createRemarks } from "./remarks.js";
import { makeSender, openDrawer } from "./sending.js";
import { createSlip, fieldsOf, saysSomething } from "./slip.js";
import { askHands } from "./hands.js";

const json = (id) => JSON.parse(document.getElementById(id).textContent);

class Bench {
  constructor(element, terms) {
    this.element = element;
    this.phrases = json("bench-phrases");
    this.comments = new Map(json("bench-remarks").map((comment) => [comment.code, comment]));
    this.stage = element.querySelector(".stage");
    this.first = Number(this.stage.dataset.first);
    this.last = Number(this.stage.dataset.last);
    this.stage.tabIndex = -1;
    this.player = createPlayer(this.stage);
    this.drawer = openDrawer(`flagline-slip:${element.dataset.reader}:${element.dataset.clip}:`);
    this.send = makeSender(element.querySelector("[name=csrfmiddlewaretoken]").value);
    this.keepers = new Map();
    this.open = null;
    this.remarks = createRemarks(element, {
      phrases: this.phrases,
      label: (frame) => this.label(frame),
      choose: (code) => this.read(code, { isAsked: true }),
    });
    this.slip = createSlip(this.part("slip"), {
      terms,
      phrases: this.phrases,
      label: (frame) => this.label(frame),
      shownFrame: () => this.player.target,
      signOf: (verdict) => this.remarks.sign(verdict),
      hears: (name) => this.heard(name),
    });
  }

  part(name) {
    return this.element.querySelector(`[data-${name}]`);
  }

  label(frame) {
    return this.player.clock?.label(frame, this.first) ?? "";
  }

  start() {
    this.element.dataset.live = "";
    this.element.querySelector(".cast [aria-current]")?.scrollIntoView({ block: "nearest" });
    this.part("idle").hidden = false;
    for (const button of this.element.querySelectorAll("[data-begin]")) {
      button.addEventListener("click", () => this.begin(button.dataset.begin));
    }
    this.stage.addEventListener("player:state", () => this.layRopes());
    this.stage.addEventListener("pennant:open", ({ detail }) => this.read(detail.code, { isAsked: true }));
    window.addEventListener("online", () => this.keepers.forEach((keeper) => keeper.flush()));
    this.bind();
  }

  bind() {
    const ask = (name, detail = {}) => () =>
      this.stage.dispatchEvent(new CustomEvent(name, { detail }));
    const step = (by) => ask("step:request", { by });
    bindKeys(
      {
        Space: ask("play:toggle"),
        ArrowLeft: step(-1),
        ArrowRight: step(1),
        "Shift+ArrowLeft": step(-10),
        "Shift+ArrowRight": step(10),
        g: () => this.begin("good"),
        w: () => this.begin("work on"),
        x: () => this.begin("not legal"),
        ",": () => this.walk(-1),
        ".": () => this.walk(1),
        "Ctrl+Enter": () => this.slip.isOpen && this.keep(),
        Escape: () => this.close(),
      },
      { help: document.querySelector("dialog.keys"), words: this.phrases.keys },
    );
  }

  /** Once the times are known; pennants hang where their frames are. */
  layRopes() {
    if (!this.player.clock || this.rope) return;
    const film = {
      stage: this.stage, clock: this.player.clock, first: this.player.first, last: this.player.last,
    };
    createDrive(this.element.querySelector(".drive"), film);
    createNearRope(this.element.querySelector(".frames"), film);
    this.rope = createRope(this.element.querySelector(".line"), film);
    this.show();
    this.sendStored();
  }

  show() {
    const comments = [...this.comments.values()].filter((comment) => !comment.isDropped);
    this.remarks.show(comments, this.open, this.writing(comments));
    this.rope?.setPennants(this.remarks.pennants());
    this.rope?.setNow(this.open);
  }

  /** The comment on the slip, while the server does not know it yet. */
  writing(comments) {
    if (!this.slip.isOpen || comments.some(({ code }) => code === this.open)) return null;
    const { frame, last_frame: lastFrame, verdict, focus } = this.slip.read();
    const name = this.slip.finder.chosen?.name ?? "";
    return { code: this.open, frame, lastFrame, verdict, focus, name, isOwn: true };
  }

  // ---- opening and closing

  begin(verdict) {
    if (!this.player.clock) return;
    if (this.part("out")) {
      this.tell(this.phrases.allOut);
      return;
    }
    if (this.part("idle").querySelector(`[data-begin="${verdict}"]`).disabled) {
      this.tell(this.phrases.notJudged);
      return;
    }
    this.player.pause();
    this.settle();
    const fields = {
      frame: this.player.target, last_frame: null, swimmers: this.slip.everybody(), verdict,
      tag: "", words: "", cue: "", drill: "", dose: "", focus: false,
    };
    this.lay({ code: newCode(), version: 0, url: "", fields });
    this.slip.focusFinder();
  }

  /** Bring a comment's frame, and its slip if it may be changed. */
  read(code, { isAsked = false } = {}) {
    const comment = this.comments.get(code);
    if (!comment) return;
    if (this.open !== code) {
      this.player.pause();
      this.settle();
      this.stage.dispatchEvent(new CustomEvent("seek:request", { detail: { frame: comment.frame } }));
      if (comment.mayChange) this.lay(this.draftOf(comment));
      else this.refuse(comment);
    }
    if (isAsked && comment.mayChange) this.slip.focusWords();
  }

  draftOf(comment) {
    const { code, version, urls } = comment;
    return { code, version, url: urls.change, fields: fieldsOf(comment) };
  }

  refuse(comment) {
    this.open = comment.code;
    this.show();
    const words = comment.isOwn || comment.isOut ? this.phrases.isOut : this.phrases.notYours;
    this.tell(words.replace("{name}", comment.author));
  }

  lay(draft) {
    this.open = draft.code;
    const known = this.keepers.get(draft.code);
    const keeper = known?.isDirty ? known : this.keeper(draft);
    this.slip.open(keeper.fields, { isOffering: draft.version === 0 });
    this.part("idle").hidden = true;
    this.part("kept").textContent = "";
    this.tell("");
    this.show();
    if (keeper.theirs) this.ask(keeper);
  }

  keeper(draft) {
    const keeper = createKeeper(draft, {
      writeUrl: this.element.dataset.write,
      send: this.send,
      store: this.drawer,
      tell: (name, detail) => this.told(keeper, name, detail),
    });
    this.keepers.set(draft.code, keeper);
    return keeper;
  }

  /** What is open goes its way to the server by itself. */
  settle() {
    if (!this.slip.isOpen) return;
    const keeper = this.keepers.get(this.open);
    if (keeper.version || saysSomething(this.slip.read())) keeper.flush();
    else keeper.stop();
    this.slip.close();
  }

  close() {
    this.settle();
    this.part("idle").hidden = false;
    this.part("two-hands").hidden = true;
    this.open = null;
    this.show();
    this.stage.focus({ preventScroll: true });
  }

  walk(by) {
    const order = this.remarks.order();
    const at = order.findIndex((comment) => comment.code === this.open);
    const { target } = this.player;
    const beyond = by > 0
      ? order.find((comment) => comment.frame > target)
      : order.findLast((comment) => comment.frame < target);
    const next = at < 0 ? beyond : order[at + by];
    if (next) this.read(next.code);
  }

  // ---- writing

  heard(name) {
    if (name === "keep") this.keep();
    if (name === "close") this.close();
    if (name === "drop") this.drop();
    if (name === "said") this.said();
  }

  said() {
    const keeper = this.keepers.get(this.open);
    const fields = this.slip.read();
    if (keeper && (keeper.version || saysSomething(fields))) keeper.put(fields);
    if (!this.comments.has(this.open)) this.show();
  }

  async keep() {
    const keeper = this.keepers.get(this.open);
    keeper.put(this.slip.read());
    const outcome = await keeper.flush();
    if (outcome === "kept" && this.open === keeper.code) this.close();
  }

  told(keeper, name, detail) {
    const isOpen = keeper.code === this.open;
    if (name === "kept") this.kept(keeper, detail.comment);
    if (name === "keeping") this.part("kept").textContent = this.phrases.keeping;
    if (name === "refused" && isOpen) this.slip.showWrong(detail.errors);
    if (name === "refused" && !isOpen) this.reopen(keeper, detail.errors);
    if (name === "refused" || name === "stale") this.part("kept").textContent = this.phrases.notKept;
    if (name === "stale") this.stale(keeper);
    if (["lost", "signedOut", "gone"].includes(name)) this.lost(this.phrases[name]);
  }

  kept(keeper, comment) {
    this.lost("");
    this.comments.set(comment.code, comment);
    if (comment.focus) this.unfocus(comment);
    this.part("kept").textContent = this.phrases.kept.replace("{time}", comment.kept);
    if (keeper.code === this.open) this.slip.showWrong({});
    this.remarks.reveal(comment);
    this.show();
  }

  /** A review has one focus: what was it before is not any more. */
  unfocus(focus) {
    for (const comment of this.comments.values()) {
      const shares = comment.swimmers.some((code) => focus.swimmers.includes(code));
      if (comment.code !== focus.code && shares) comment.focus = false;
    }
  }

  stale(keeper) {
    this.comments.set(keeper.code, keeper.theirs);
    if (keeper.code === this.open) this.ask(keeper);
    else this.reopen(keeper);
  }

  /** What was closed and could not be kept comes back; nothing goes unseen. */
  reopen(keeper, errors = {}) {
    this.settle();
    this.lay(keeper);
    this.slip.showWrong(errors);
  }

  async ask(keeper) {
    const { theirs } = keeper;
    const fields = await askHands(this.part("two-hands"), {
      mine: () => keeper.fields, theirs: fieldsOf(theirs), isDropped: theirs.isDropped, phrases: this.phrases,
      nameOf: (slug) => this.slip.finder.find(slug)?.name ?? slug,
    });
    if (fields === null) keeper.adopt(fieldsOf(theirs));
    else if (!theirs.isDropped) await keeper.settle(fields);
    else if (await this.post(theirs.urls.restore, {})) {
      keeper.theirs = this.comments.get(keeper.code);
      await keeper.settle(fields);
    }
    if (keeper.code !== this.open) return;
    if (fields === null && theirs.isDropped) this.close();
    else this.slip.open(keeper.fields);
    this.slip.field("words").focus();
  }

  lost(words) {
    const line = this.part("lost");
    line.hidden = !words;
    line.querySelector("span").textContent = words;
    if (words) this.part("kept").textContent = this.phrases.notKept;
  }

  // ---- dropping

  async drop() {
    const keeper = this.keepers.get(this.open);
    keeper.stop();
    this.slip.close();
    this.close();
    // What is on its way arrives first.
    await keeper.running;
    const comment = this.comments.get(keeper.code);
    if (!comment) return;
    const dropped = await this.post(comment.urls.drop, {});
    if (dropped) this.offerUndo(dropped, comment.focus);
  }

  offerUndo(dropped, wasFocus) {
    const name = dropped.name || this.phrases.noTag;
    this.tell(this.phrases.dropped.replace("{name}", name), {
      words: this.phrases.undo,
      act: async () => {
        const restored = await this.post(dropped.urls.restore, { focus: wasFocus });
        if (restored) this.read(restored.code, { isAsked: true });
      },
    });
  }

  async post(url, body) {
    let reply = { status: 0 };
    try {
      reply = await this.send(url, body);
    } catch {
      this.lost(this.phrases.notDone);
      return null;
    }
    if (reply.status !== 200) {
      const { errors = {}, problem } = reply.answer ?? {};
      this.tell(Object.values(errors).join(" ") || problem || this.phrases.signedOut);
      return null;
    }
    this.comments.set(reply.answer.code, reply.answer);
    this.show();
    return reply.answer;
  }

  /** One line under the heading of the slip's place, with a button if there is something to do. */
  tell(words, { words: label, act } = {}) {
    const line = this.part("undo");
    line.textContent = words;
    if (!act) return;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "may small bare";
    button.textContent = label;
    button.addEventListener("click", () => {
      line.textContent = "";
      act();
    });
    line.append(" ", button);
  }

  // ---- what an earlier page could not send

  async sendStored() {
    const drafts = this.drawer.all();
    for (const draft of drafts) {
      const keeper = this.keeper(draft);
      if ((await keeper.resume()) !== "kept") continue;
      const { kept } = this.comments.get(draft.code);
      const words = this.phrases.sentNow.replace("{time}", kept);
      this.tell(words);
      announce(words);
    }
  }
}

/** Of the page's own making, so that a comment sent twice is one. */
function newCode() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

const element = document.querySelector("[data-bench]");
if (element.querySelector(".stage[data-film]")) {
  // Without its words the slip could not show a tag, and would keep the comment without it.
  const reply = await fetch(element.dataset.words).catch(() => null);
  if (reply?.ok) new Bench(element, await reply.json()).start();
  else element.querySelector("[data-no-words]").hidden = false;
}
