// Time as a lane rope: floats of equal time, and pennants where something is said.

import { wholeMoment } from "./clock.js";
import { add, draw, set, UNHEARD } from "./drawing.js";
import { gather } from "./gathering.js";
import { CLOTH, floatsOf, hang, MARGIN, scaleFor, STRINGS_TOP } from "./hanging.js";
import { addSlider, request, scrub, setSlider } from "./slider.js";
import { drawStrip } from "./strip.js";

export { createNearRope } from "./near.js";

const FLOATS_TOP = 18;
const FLOATS_HEIGHT = 20;
const LINE_HEIGHT = 160;
// The filmstrip lies close under the floats, and what hangs, hangs so much lower.
const STRIP = { top: FLOATS_TOP + FLOATS_HEIGHT + 5, height: 30, room: 36 };
const MARK_WIDTH = 44;
// Half its width; the marks at the two ends stand clear of it, since it often waits there.
const GRIP = 8;
const CLEAR = GRIP + 3;

/**
 * The lane rope of a clip in `element`, a `.line`.
 *
 * Its words come from the element: data-label ("Time line"), data-said ("{moment}, frame {frame}
 * of {frames}"), data-stretch ("{from} to {to}"). A pennant is `{code, frame, last_frame, sign,
 * said, words, note, focus, draft}`; `sign` names a <symbol id="sign-…"> of the page. Where the
 * element is `.stripped` there is room for a filmstrip. Asks the stage with `seek:request` and
 * `step:request`, and tells it `pennant:open {code}`.
 */
export function createRope(element, { stage, clock, first, last, pennants = [] }) {
  const rope = new Rope(element, { stage, clock, first, last });
  rope.setPennants(pennants);
  rope.setFrame(Number(stage.dataset.shown ?? first));
  new ResizeObserver(() => rope.draw()).observe(element);
  // Words are measured for their places, and the letters may come late.
  document.fonts.ready.then(() => rope.draw(true));
  return rope;
}

class Rope {
  constructor(element, { stage, clock, first, last }) {
    Object.assign(this, { element, stage, clock, first, last });
    this.seconds = clock.between(first, last);
    this.frame = first;
    /** All of them, and those that hang, some of which stand for several. */
    this.given = [];
    this.pennants = [];
    this.ticks = [];
    this.loop = null;
    this.now = null;
    this.strip = null;
    /** How much lower everything hangs that hangs. */
    this.drop = element.classList.contains("stripped") ? STRIP.room : 0;
    this.width = 0;
    this.drawing = add(element, "svg", { class: "rope", ...UNHEARD });
    this.slider = addSlider(element, this);
    this.tells = add(element, "ol", { class: "tells" });
    scrub(this.slider, (x) => this.ask(this.frameUnder(x - MARGIN)));
    stage.addEventListener("frame:shown", (event) => this.setFrame(event.detail.frame));
    stage.addEventListener("loop:changed", ({ detail }) => {
      this.loop = detail.first === null ? null : detail;
      this.draw(true);
    });
  }

  get height() {
    return LINE_HEIGHT + this.drop;
  }

  /** As strip.js tells it. */
  setStrip(strip) {
    this.strip = strip;
    this.draw(true);
  }

  /** Frames that somebody marked, whatever for: small notches in the cord. */
  setTicks(frames) {
    this.ticks = frames;
    this.draw(true);
  }

  setPennants(list) {
    this.given = list;
    this.draw(true);
  }

  /** On a rope of this width. */
  gather() {
    const words = this.element.dataset.many ?? "{count}";
    const pennants = gather(this.given, {
      x: (frame) => this.x(frame),
      now: this.now,
      tell: (count) => words.replace("{count}", count),
    });
    if (JSON.stringify(pennants) === JSON.stringify(this.pennants)) return;
    const focused = this.tells.contains(document.activeElement) && document.activeElement.value;
    this.pennants = pennants;
    this.tells.replaceChildren(...pennants.map((pennant) => this.tell(pennant)));
    [...this.tells.querySelectorAll("button")].find(({ value }) => value === focused)?.focus();
  }

  /** The comment that is being written or read, by its code; null for none. */
  setNow(code) {
    this.now = code;
    this.draw(true);
  }

  setFrame(frame) {
    this.frame = frame;
    setSlider(this.slider, this);
    this.moveHere();
  }

  ask(frame) {
    request(this.stage, "seek:request", { frame });
  }

  x(frame) {
    return this.seconds ? (this.clock.between(this.first, frame) / this.seconds) * this.width : 0;
  }

  frameUnder(x) {
    const seconds = (x / this.width) * this.seconds;
    const frame = this.clock.frameAt(this.clock.timeOf(this.first) + seconds);
    return Math.min(this.last, Math.max(this.first, frame));
  }

  draw(isNew = false) {
    const width = this.element.clientWidth - 2 * MARGIN;
    if (width <= 0 || (width === this.width && !isNew)) return;
    this.width = width;
    this.gather();
    const whole = width + 2 * MARGIN;
    const viewBox = `${-MARGIN} 0 ${whole} ${this.height}`;
    set(this.drawing, { viewBox, width: whole, height: this.height });
    this.drawing.replaceChildren();
    this.drawRope();
    this.drawStrip();
    this.drawLoop();
    this.drawTicks();
    this.drawPennants();
    this.here = draw(this.drawing, "g", { class: "here" });
    draw(this.here, "path", { d: `M0 12V${STRINGS_TOP + 4}` });
    draw(this.here, "path", { class: "grip", d: `M${-GRIP} -6H${GRIP}V3L0 10L${-GRIP} 3Z` });
    this.moveHere();
  }

  drawRope() {
    const middle = FLOATS_TOP + FLOATS_HEIGHT / 2;
    const ends = [4 - MARGIN, this.width + MARGIN - 4];
    draw(this.drawing, "path", { class: "cord", d: `M${ends[0]} ${middle}H${ends[1]}` });
    for (const x of ends) {
      draw(this.drawing, "circle", { class: "hook", cx: x, cy: middle, r: 3.5 });
    }
    const scale = scaleFor(this.seconds, this.width);
    const beads = draw(this.drawing, "g", { class: "beads" });
    this.floats = floatsOf(this.seconds, scale).map(({ from, to, isStrong, endsHair }) => {
      const [left, right] = [from, to].map((time) => (time / this.seconds) * this.width);
      const gap = endsHair ? 1.5 : 0.6;
      const grown = isStrong ? 2 : 0;
      const bead = draw(beads, "rect", {
        class: isStrong ? "strong" : "",
        x: left,
        y: FLOATS_TOP - grown,
        width: Math.max(1, right - left - gap),
        height: FLOATS_HEIGHT + 2 * grown,
        rx: Math.min(4, (right - left) / 3),
      });
      return { bead, from };
    });
    this.drawMarks(scale.strong);
  }

  drawStrip() {
    if (!this.strip) return;
    const strip = draw(this.drawing, "g", { class: "strip" });
    const frameUnder = (x) => this.frameUnder(x);
    drawStrip(strip, this.strip, { ...STRIP, width: this.width, frameUnder });
  }

  drawLoop() {
    if (!this.loop) return;
    const [from, to] = [this.x(this.loop.first), this.x(this.loop.last)];
    const [top, bottom] = [FLOATS_TOP - 4, FLOATS_TOP + FLOATS_HEIGHT + 4];
    const d = `M${from + 4} ${top}H${from}V${bottom}H${from + 4}M${to - 4} ${top}H${to}V${bottom}H${to - 4}`;
    draw(this.drawing, "path", { class: "loop", d });
  }

  drawTicks() {
    const ticks = draw(this.drawing, "g", { class: "ticks" });
    for (const frame of this.ticks) {
      draw(ticks, "path", { d: `M${this.x(frame)} ${FLOATS_TOP - 4}l-4 -6h8z` });
    }
  }

  drawMarks(strong) {
    const marks = draw(this.drawing, "g", { class: "marks" });
    const mark = (x, words, anchor) =>
      (draw(marks, "text", { x, y: 10, "text-anchor": anchor }).textContent = words);
    mark(this.width - CLEAR, this.clock.label(this.last, this.first), "end");
    let free = -Infinity;
    for (let time = 0; time <= this.seconds; time += strong) {
      const x = (time / this.seconds || 0) * this.width;
      if (x < free || x > this.width - 2 * MARK_WIDTH) continue;
      const place = time ? x : CLEAR;
      mark(place, wholeMoment(time), time ? "middle" : "start");
      free = place + MARK_WIDTH;
    }
  }

  drawPennants() {
    const tells = [...this.tells.querySelectorAll("button")];
    // The one being written keeps its words before all others.
    const order = [...this.pennants.keys()].sort((one, two) => this.isNow(two) - this.isNow(one));
    const sizes = order.map((at) => {
      delete tells[at].dataset.side;
      return { x: this.x(this.pennants[at].frame), words: tells[at].lastChild.scrollWidth };
    });
    hang(sizes, this.width).forEach((hung, rank) => {
      const place = { ...hung, y: hung.y + this.drop };
      const at = order[rank];
      this.drawPennant(this.pennants[at], place, this.isNow(at));
      this.placeTell(tells[at], place, this.isNow(at));
    });
  }

  isNow(at) {
    return this.pennants[at].code === this.now;
  }

  drawPennant({ frame, last_frame: lastFrame, sign, focus, draft, count }, { x, y }, isNow) {
    const at = this.x(frame);
    const states = [isNow && "now", draft && "draft", focus && "focus"].filter(Boolean);
    const pin = draw(this.drawing, "g", { class: ["pin", ...states].join(" ") });
    if (lastFrame > frame) {
      const end = this.x(lastFrame);
      draw(pin, "path", { class: "span", d: `M${at} ${STRINGS_TOP + 5}H${end}` });
      draw(pin, "path", { class: "string", d: `M${end} ${STRINGS_TOP}V${STRINGS_TOP + 9}` });
    }
    draw(pin, "path", { class: "string", d: `M${at} ${STRINGS_TOP}L${x} ${y}` });
    const half = CLOTH.width / 2;
    draw(pin, "path", {
      class: "cloth",
      d: `M${x - half} ${y}h${CLOTH.width}l-15.3 38.5a1.8 1.8 0 0 1 -3.4 0z`,
    });
    if (focus) draw(pin, "path", { class: "band", d: `M${x - half} ${y + 1}h${CLOTH.width}` });
    const href = `#sign-${sign.replaceAll(" ", "-")}`;
    if (count) {
      draw(pin, "text", { class: "count", x, y: y + 18, "text-anchor": "middle" }).textContent = count;
    } else draw(pin, "use", { href, x: x - 8, y: y + 5, width: 16, height: 16 });
  }

  /** The words of a pennant, a button that also lies over its cloth. */
  tell(pennant) {
    const item = document.createElement("li");
    const button = add(item, "button", { class: "tell", type: "button", value: pennant.code });
    add(button, "span", { class: "unseen" }).textContent = `${pennant.said ?? pennant.sign}: `;
    const words = add(button, "span", { class: "words" });
    add(words, "b").textContent = pennant.words;
    const facts = [this.moment(pennant), pennant.note].filter(Boolean);
    add(words, "span").textContent = facts.join(" · ");
    button.addEventListener("click", () => {
      this.ask(pennant.frame);
      request(this.stage, "pennant:open", { code: pennant.code });
    });
    return item;
  }

  moment({ frame, last_frame: lastFrame }) {
    const from = this.clock.label(frame, this.first);
    if (!(lastFrame > frame)) return from;
    const to = this.clock.label(lastFrame, this.first);
    return (this.element.dataset.stretch ?? "").replace("{from}", from).replace("{to}", to);
  }

  placeTell(button, { x, y, side }, isNow) {
    button.classList.toggle("now", isNow);
    button.dataset.side = side === "none" && x > this.width / 2 ? "none-left" : side;
    button.style.left = `${x + MARGIN}px`;
    button.style.top = `${y}px`;
  }

  moveHere() {
    if (!this.here) return;
    this.here.setAttribute("transform", `translate(${this.x(this.frame)} 0)`);
    const passed = this.clock.between(this.first, this.frame);
    for (const { bead, from } of this.floats) bead.classList.toggle("past", from < passed);
  }
}
