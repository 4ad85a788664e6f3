// The drawing board over the film: chalk is seen on its frame alone, and drawn while a tool is on.

import { announce } from "../kit/announce.js";
import { draw, set } from "../player/drawing.js";
import { createHands } from "./hands.js";
import { createPencil, TOOLS } from "./pencil.js";
import { degrees, HIGH, MOST, spread, wrap, writable } from "./shapes.js";
import { makeCanvas, paint } from "./svg.js";

/**
 * `tray` holds the tools. `wanted()` is asked when a tool is taken up while nothing lies open to
 * draw on, and opens something or does not; `drawn(drawing)` is told of each change.
 */
export function createBoard(stage, tray, { phrases, wanted, drawn }) {
  const board = new Board(stage, tray, { phrases, wanted, drawn });
  board.listen();
  return board;
}

class Board {
  constructor(stage, tray, { phrases, wanted, drawn }) {
    Object.assign(this, { stage, tray, phrases, wanted, drawn });
    this.aspect = Number(stage.dataset.width) / Number(stage.dataset.height);
    this.frame = null;
    this.isPlaying = false;
    this.drawings = [];
    this.open = null;
    this.kept = null;
    this.last = "line";
    this.pencil = createPencil({ aspect: this.aspect, tell: (name, detail) => this.told(name, detail) });
    this.build();
    this.hands = createHands(this.board, {
      pencil: this.pencil,
      aspect: this.aspect,
      does: {
        tool: (number) => this.take(TOOLS[number - 1]),
        leave: () => this.leave(),
        undo: () => this.pencil.undo(),
        redo: () => this.pencil.redo(),
        cross: () => this.cross(),
      },
    });
  }

  build() {
    const picture = this.stage.querySelector(".picture");
    this.board = picture.appendChild(document.createElement("div"));
    set(this.board, { class: "board", role: "application", "aria-describedby": "chalk-hint" });
    this.board.setAttribute("aria-label", this.phrases.board);
    this.board.tabIndex = 0;
    this.board.inert = true;
    this.canvas = this.board.appendChild(makeCanvas(this.aspect));
    this.chalk = draw(this.canvas, "g", {});
    this.marks = draw(this.canvas, "g", { class: "marks" });
    this.form = this.stage.appendChild(this.part("words").content.firstElementChild.cloneNode(true));
    this.form.hidden = true;
  }

  part(name) {
    return this.tray.querySelector(`[data-${name}]`);
  }

  listen() {
    this.tray.addEventListener("click", (event) => this.pressed(event.target.closest("button")));
    this.stage.addEventListener("frame:shown", ({ detail }) => {
      this.frame = detail.frame;
      if (this.pencil.tool && !this.isOnFrame(this.open)) this.leave();
      this.paint();
    });
    this.stage.addEventListener("player:state", ({ detail }) => {
      this.isPlaying = detail.playing;
      if (this.isPlaying && this.pencil.tool) this.leave();
      this.paint();
    });
    this.stage.addEventListener("near:changed", () => this.paint());
    this.form.addEventListener("submit", (event) => this.write(event));
    this.form.addEventListener("keydown", (event) => {
      if (event.key !== "Escape") return;
      event.preventDefault();
      this.pencil.cancel();
      this.endWords();
    });
    this.form.querySelector("[data-leave]").addEventListener("click", () => {
      this.pencil.cancel();
      this.endWords();
    });
  }

  // ---- what lies on the bench

  /** `open` is the comment on the slip, or null; its drawing can be drawn on. */
  lay(comments, open) {
    const isOther = open?.code !== this.open?.code;
    this.open = open;
    this.drawings = comments.filter(({ drawing, code }) => drawing && code !== open?.code);
    const now = JSON.stringify(open?.drawing ?? null);
    if (isOther || now !== this.kept) {
      this.kept = now;
      this.pencil.begin(open?.drawing?.shapes ?? []);
    }
    if (this.pencil.tool && !open) this.leave();
    this.show();
  }

  /** A moment shows its drawing while the film stands there, a stretch as long as it lasts. */
  isOnFrame(comment) {
    if (!comment || this.frame === null) return false;
    const last = comment.lastFrame ?? comment.frame;
    if (this.frame < comment.frame || this.frame > last) return false;
    return !this.isPlaying || last > comment.frame;
  }

  show() {
    this.paint();
    this.showTray();
  }

  /** For each frame that passes: most have nothing drawn on them. */
  paint() {
    const isOpenSeen = this.isOnFrame(this.open);
    const others = this.open ? [] : this.drawings.filter((each) => this.isOnFrame(each));
    const shapes = isOpenSeen ? this.pencil.seen : others.flatMap(({ drawing }) => drawing.shapes);
    if (shapes.length || this.chalk.hasChildNodes()) paint(this.chalk, shapes, this.aspect);
    this.mark(isOpenSeen);
  }

  /** Points that can be taken, and the crosshair of the keys; as large on every screen. */
  mark(isOpenSeen) {
    this.marks.replaceChildren();
    if (!isOpenSeen || !this.pencil.tool) return;
    const pixel = HIGH / (this.board.getBoundingClientRect().height || HIGH);
    const at = ([x, y]) => [x * this.aspect * HIGH, y * HIGH];
    const dot = (place, isTaken) => {
      const [cx, cy] = at(place);
      const ring = { cx, cy, r: (isTaken ? 8 : 6) * pixel, "stroke-width": 2 * pixel };
      draw(this.marks, "circle", { ...ring, class: isTaken ? "taken" : "point" });
    };
    const { picked, set: begun } = this.pencil;
    for (const place of begun) dot(place, false);
    if (picked) {
      const { k, p } = this.pencil.seen[picked.shape];
      (k === "free" ? [p[0], p.at(-1)] : p).forEach((place, own) => dot(place, picked.place < 0 || own === picked.place));
    }
    const isCrossed = this.hands.isOnKeys && !picked && document.activeElement === this.board;
    if (isCrossed) this.markCross(at(this.hands.at), pixel);
  }

  markCross([x, y], pixel) {
    const [inner, outer] = [4 * pixel, 16 * pixel];
    const arms = [[1, 0], [-1, 0], [0, 1], [0, -1]]
      .map(([dx, dy]) => `M${x + dx * inner} ${y + dy * inner}L${x + dx * outer} ${y + dy * outer}`);
    draw(this.marks, "path", { d: arms.join(""), class: "under", "stroke-width": 5 * pixel });
    draw(this.marks, "path", { d: arms.join(""), class: "cross", "stroke-width": 2 * pixel });
  }

  // ---- tools

  pressed(button) {
    if (!button || button.getAttribute("aria-disabled") === "true") return;
    const { tool, draw: act } = button.dataset;
    if (tool) this.take(tool, { isAgain: tool === this.pencil.tool });
    if (act === "undo") this.pencil.undo();
    if (act === "redo") this.pencil.redo();
    if (act === "remove") this.pencil.remove();
    if (act === "done") this.finish();
  }

  /** A tool's second press puts it down. */
  take(tool = this.last, { isAgain = false } = {}) {
    if (isAgain) return this.leave();
    if (!this.open) this.wanted();
    if (!this.open) return undefined;
    if (!this.isOnFrame(this.open)) {
      this.stage.dispatchEvent(new CustomEvent("seek:request", { detail: { frame: this.open.frame } }));
      this.frame = this.open.frame;
    }
    if (tool !== "move") this.last = tool;
    this.endWords();
    this.board.inert = false;
    this.stage.dataset.drawing = tool;
    this.pencil.choose(tool);
    this.board.focus({ preventScroll: true });
    this.say(this.phrases.hints[tool]);
    return undefined;
  }

  finish() {
    if (this.pencil.set.length > 1) this.pencil.finish();
    else this.leave();
  }

  leave() {
    const hadFocus = this.board.contains(document.activeElement) || this.form.contains(document.activeElement);
    this.pencil.choose(null);
    this.endWords({ isLeaving: true });
    this.board.inert = true;
    delete this.stage.dataset.drawing;
    this.part("hint").textContent = this.phrases.hints.none;
    this.showTray();
    if (hadFocus) this.stage.focus({ preventScroll: true });
  }

  showTray() {
    const { tool, canUndo, canRedo, shapes, set: begun } = this.pencil;
    for (const button of this.tray.querySelectorAll("[data-tool]")) {
      button.setAttribute("aria-pressed", button.dataset.tool === tool);
    }
    const can = {
      undo: canUndo, redo: canRedo, remove: shapes.length > 0, done: Boolean(tool || begun.length),
    };
    for (const button of this.tray.querySelectorAll("[data-draw]")) {
      button.setAttribute("aria-disabled", !can[button.dataset.draw]);
    }
  }

  // ---- what the pencil tells

  told(name, detail) {
    if (name === "changed") this.changed(detail.shape);
    if (name === "words") this.askWords();
    if (name === "nothing") this.say(this.phrases.nothing);
    if (name === "full") this.say(this.phrases.full[detail.limit].replace("{most}", MOST[detail.limit]));
    if (name === "unsure") this.say(this.phrases.unsure.replace("{spread}", Math.ceil(detail.spread)));
    this.show();
  }

  changed(shape) {
    const { shapes } = this.pencil;
    const drawing = wrap(shapes, this.aspect);
    this.kept = JSON.stringify(drawing);
    if (this.open) this.open = { ...this.open, drawing };
    this.drawn(drawing);
    const name = shape && this.phrases.tools[shape.k];
    const size = shape?.k === "angle" ? this.sizeOf(shape) : "";
    const words = name ? this.phrases.isDrawn.replace("{shape}", name + size) : this.phrases.isChanged;
    announce(words.replace("{count}", shapes.length));
  }

  sizeOf(shape) {
    const [size, off] = [degrees(shape, this.aspect), spread(shape, this.aspect)].map(Math.round);
    return `, ${size}° ± ${Math.max(1, off)}°`;
  }

  cross() {
    const [x, y] = this.hands.at.map((share) => Math.round(share * 100));
    announce(this.phrases.crosshair.replace("{x}", x).replace("{y}", y));
    this.show();
  }

  say(words) {
    this.part("hint").textContent = words;
    announce(words);
  }

  // ---- words on the frame

  askWords() {
    this.form.hidden = false;
    // It lies where the words will not.
    this.form.toggleAttribute("data-high", this.pencil.set[0][1] > 0.5);
    const field = this.form.elements.text;
    field.value = "";
    field.focus({ preventScroll: true });
  }

  write(event) {
    event.preventDefault();
    const typed = this.form.elements.text.value.normalize("NFC");
    const words = writable(typed);
    if (words.trim()) this.pencil.finish({ words: words.trim() });
    else this.pencil.cancel();
    this.endWords();
    if (words !== typed) this.say(this.phrases.leftOut);
  }

  endWords({ isLeaving = false } = {}) {
    if (this.form.hidden) return;
    this.form.hidden = true;
    if (!isLeaving) this.board.focus({ preventScroll: true });
  }
}
