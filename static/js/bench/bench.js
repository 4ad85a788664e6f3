// The review bench: film, rope and slip of one clip, and the comments that stand on it.

import { announce } from "../kit/announce.js";
import { createBoard } from "../drawing/board.js";
import { bindKeys } from "../kit/keys.js";
import { filmKeys } from "../player/commands.js";
import { createDrive } from "../player/drive.js";
import { createPlayer } from "../player/player.js";
import { createNearRope, createRope } from "../player/rope.js";
import { createWays } from "../player/ways.js";
import { createKeeper } from "./keeping.js";
import { createBeside } from "./beside.js";
import { drop, repeat } from "./giving.js";
import { createMarks } from "./marks.js";
import { createLine } from "./line.js";
import { createListener, keepListening, makeAsker } from "./listening.js";
import { compareHands, hear } from "./others.js";
import { createRemarks } from "./remarks.js";
import { makeSender, newCode, openDrawer } from "./sending.js";
import { createSlip, fieldsOf, saysSomething } from "./slip.js";

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
    this.line = createLine(element, { phrases: this.phrases, send: this.send });
    this.keepers = new Map();
    this.writes = 0;
    this.wasHeldBack = false;
    this.open = null;
    /** The comment that was closed last: while its frame is shown, keys walk on from it. */
    this.left = null;
    this.stretchFrom = null;
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
    this.board = createBoard(this.stage, this.part("tray"), {
      phrases: this.phrases.chalk,
      wanted: () => this.begin("work on", { isWritten: false }),
      drawn: (drawing) => this.slip.draw(drawing),
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
    document.addEventListener("click", (event) => this.leave(event));
    window.addEventListener("online", () => this.keepers.forEach((keeper) => keeper.flush()));
    this.marks = createMarks(this.part("marks"), {
      stage: this.stage,
      player: this.player,
      send: this.send,
      newCode,
      label: (frame) => this.label(frame),
      opened: () => this.close(),
      ticks: (frames) => this.rope.setTicks(frames),
    });
    this.beside = createBeside(this.part("beside"), {
      player: this.player,
      stripped: (strip) => this.rope.setStrip(strip),
    });
    this.bind();
    keepListening(createListener({
      ask: makeAsker(this.element.dataset.said),
      writes: () => this.writes,
      heard: (comments) => hear(this, comments),
    }));
  }

  bind() {
    bindKeys(
      {
        ...filmKeys(this.stage),
        ...this.marks.commands(),
        ...this.beside.commands(),
        g: () => this.begin("good"),
        w: () => this.begin("work on"),
        x: () => this.begin("not legal"),
        s: () => this.beginStretch(),
        d: () => this.board.take(),
        n: () => document.querySelector("[data-onward]")?.click(),
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
    createWays(this.stage, { player: this.player });
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
    const { frame, last_frame: lastFrame, drawing } = this.slip.isOpen ? this.slip.read() : {};
    this.board.lay(comments, this.slip.isOpen ? { code: this.open, frame, lastFrame, drawing } : null);
  }

  /** The comment on the slip, while the server does not know it yet. */
  writing(comments) {
    if (!this.slip.isOpen || comments.some(({ code }) => code === this.open)) return null;
    const { frame, last_frame: lastFrame, verdict, focus } = this.slip.read();
    const name = this.slip.finder.chosen?.name ?? "";
    return { code: this.open, frame, lastFrame, verdict, focus, name, isOwn: true };
  }

  // ---- opening and closing

  /** Whoever draws first has the eyes and the hand on the film, not on the fields. */
  begin(verdict, { isWritten = true } = {}) {
    if (!this.player.clock) return;
    if (this.part("out")) {
      this.line.tell(this.phrases.allOut);
      return;
    }
    if (this.part("idle").querySelector(`[data-begin="${verdict}"]`).disabled) {
      this.line.tell(this.phrases.notJudged);
      return;
    }
    this.player.pause();
    this.settle();
    const fields = {
      ...this.moment(), swimmers: this.slip.everybody(), verdict,
      tag: "", words: "", staff_note: "", cue: "", drill: "", dose: "", focus: false, drawing: null,
    };
    this.lay({ code: newCode(), version: 0, url: "", fields });
    if (isWritten) this.slip.focusFinder();
  }

  /** The frame on the stage ends a stretch if one was begun before it, and else is the moment. */
  moment() {
    const { target } = this.player;
    const from = this.stretchFrom;
    this.stretchFrom = null;
    return from === null || from >= target
      ? { frame: target, last_frame: null }
      : { frame: from, last_frame: target };
  }

  beginStretch() {
    if (!this.player.clock || this.part("out")) return;
    if (this.slip.isOpen) this.close();
    this.stretchFrom = this.player.target;
    this.line.tell(this.phrases.stretchFrom.replace("{time}", this.label(this.stretchFrom)));
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
    this.line.tell(words.replaceAll("{name}", comment.author));
  }

  lay(draft) {
    this.marks.close();
    this.open = draft.code;
    const known = this.keepers.get(draft.code);
    const keeper = known?.isDirty ? known : this.keeper(draft);
    this.slip.open(keeper.fields, { isOffering: draft.version === 0 });
    this.slip.offerOthers(keeper.version > 0);
    this.part("idle").hidden = true;
    this.part("kept").textContent = "";
    this.line.tell("");
    this.show();
    if (keeper.theirs) compareHands(this, keeper);
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
    this.marks.close();
    this.settle();
    this.part("idle").hidden = false;
    this.part("two-hands").hidden = true;
    this.left = this.open ?? this.left;
    this.open = null;
    this.stretchFrom = null;
    this.show();
    this.stage.focus({ preventScroll: true });
  }

  walk(by) {
    const order = this.remarks.order();
    const { target } = this.player;
    const isHere = ({ code, frame }) =>
      code === (this.open ?? this.left) && (this.open !== null || frame === target);
    const at = order.findIndex(isHere);
    const beyond = by > 0
      ? order.find((comment) => comment.frame >= target)
      : order.findLast((comment) => comment.frame <= target);
    const next = at < 0 ? beyond : order[at + by];
    if (next) this.read(next.code);
  }

  /** Whoever follows a link in the middle of a sentence finds the whole of it on the next page. */
  async leave(event) {
    const link = event.target.closest("a[href]");
    const isElsewhere = event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey;
    if (!link || isElsewhere || link.hash) return;
    this.settle();
    const unsent = [...this.keepers.values()].filter((keeper) => keeper.isDirty || keeper.running);
    if (!unsent.length) return;
    event.preventDefault();
    const outcomes = await Promise.all(unsent.map((keeper) => keeper.flush()));
    // Of what is refused or could not be sent the page has said why. Whoever asks again may go:
    // this browser keeps the words.
    const isKept = outcomes.every((outcome) => outcome === "kept");
    if (isKept || this.wasHeldBack) location.assign(link.href);
    this.wasHeldBack = !isKept;
  }

  // ---- writing

  heard(name) {
    if (name === "keep") this.keep();
    if (name === "close") this.close();
    if (name === "drop") drop(this);
    if (name === "said") this.said();
    if (name === "repeat") repeat(this);
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
    if (["lost", "signedOut", "gone"].includes(name)) this.line.lost(this.phrases[name]);
  }

  kept(keeper, comment) {
    this.line.lost("");
    this.writes += 1;
    this.comments.set(comment.code, comment);
    if (comment.focus) this.unfocus(comment);
    this.part("kept").textContent = this.phrases.kept.replace("{time}", comment.kept);
    if (keeper.code === this.open) {
      this.slip.showWrong({});
      if (!this.slip.isOfferingOthers) this.slip.offerOthers(true);
    }
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
    if (keeper.code === this.open) compareHands(this, keeper);
    else this.reopen(keeper);
  }

  /** What was closed and could not be kept comes back; nothing goes unseen. */
  reopen(keeper, errors = {}) {
    this.settle();
    this.lay(keeper);
    this.slip.showWrong(errors);
  }

  /** What the server gives, a comment as it stands now. */
  async post(url, body) {
    const comment = await this.line.request(url, body);
    if (!comment) return null;
    this.writes += 1;
    this.comments.set(comment.code, comment);
    this.show();
    return comment;
  }

  // ---- what an earlier page could not send

  async sendStored() {
    const drafts = this.drawer.all();
    for (const draft of drafts) {
      const keeper = this.keeper(draft);
      if ((await keeper.resume()) !== "kept") continue;
      const { kept } = this.comments.get(draft.code);
      const words = this.phrases.sentNow.replace("{time}", kept);
      this.line.tell(words);
      announce(words);
    }
  }
}

const element = document.querySelector("[data-bench]");
if (element.querySelector(".stage[data-film]")) {
  // Without its words the slip could not show a tag, and would keep the comment without it.
  const reply = await fetch(element.dataset.words).catch(() => null);
  if (reply?.ok) new Bench(element, await reply.json()).start();
  else element.querySelector("[data-no-words]").hidden = false;
}
