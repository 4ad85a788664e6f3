// The whole take across the page: its filmstrip, the stretches cut from it and the one being
// marked, floats for the time, and where the film stands.

import { moment, wholeMoment } from "../player/clock.js";
import { gaps, grabbed, ruler } from "./choosing.js";

const SVG = "http://www.w3.org/2000/svg";
const NAMES = 30;
const FILM = 58;
const FLOATS = NAMES + FILM + 10;
// Pixels beside the end of a mark at which it is still taken hold of.
const REACH = 10;
const HEIGHT = FLOATS + 28;
const STEPS = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -60, PageUp: 60 };

/**
 * Draws into `element`, a slider. `show({stretches, guesses, mark})` draws what was cut, as
 * `{first, last, name}` in frames, what is guessed likewise, and the mark `{first, last}`, either end of
 * which may be NaN.
 */
export function createTake(element, { stage, clock }) {
  const take = new Take(element, stage, clock);
  take.listen();
  return take;
}

class Take {
  constructor(element, stage, clock) {
    this.element = element;
    this.stage = stage;
    this.clock = clock;
    this.stretches = [];
    this.guesses = [];
    this.mark = { first: NaN, last: NaN };
    this.held = null;
    this.frame = clock.firstFrame;
    this.start = clock.timeOf(clock.firstFrame);
    this.length = Math.max(clock.timeOf(clock.lastFrame) - this.start, 0.001);
    this.svg = element.appendChild(make("svg", { class: "film", "aria-hidden": "true" }));
  }

  listen() {
    new ResizeObserver(() => this.draw()).observe(this.element);
    this.stage.addEventListener("frame:shown", (event) => this.stand(event.detail.frame));
    this.element.addEventListener("pointerdown", (event) => {
      this.element.setPointerCapture(event.pointerId);
      this.held = grabbed(this.ends(), this.pixels(event), REACH);
      if (this.held) this.ask("seek:request", { frame: this.mark[this.held] });
      else this.seekTo(event);
    });
    this.element.addEventListener("pointermove", (event) => {
      if (this.element.hasPointerCapture(event.pointerId)) this.seekTo(event);
    });
    this.element.addEventListener("keydown", (event) => this.press(event));
  }

  show({ stretches, guesses, mark }) {
    this.stretches = stretches;
    this.guesses = guesses;
    this.mark = mark;
    this.draw();
  }

  // ---- where the film stands

  /** Those of the mark that are set, in pixels. */
  ends() {
    const set = Object.entries(this.mark).filter(([, frame]) => Number.isFinite(frame));
    return Object.fromEntries(set.map(([name, frame]) => [name, this.x(frame)]));
  }

  pixels(event) {
    return event.clientX - this.element.getBoundingClientRect().left;
  }

  /** The film goes there, and the end of the mark that was taken hold of goes with it. */
  seekTo(event) {
    const share = Math.min(1, Math.max(0, this.pixels(event) / this.width));
    const frame = this.clock.frameAt(this.start + share * this.length);
    if (this.held) this.ask("mark:request", { end: this.held, frame });
    this.ask("seek:request", { frame });
  }

  press(event) {
    const by = STEPS[event.key] * (event.shiftKey ? 10 : 1);
    const end = { Home: this.clock.firstFrame, End: this.clock.lastFrame }[event.key];
    if (by) this.ask("step:request", { by });
    else if (end !== undefined) this.ask("seek:request", { frame: end });
    else return;
    event.preventDefault();
  }

  ask(name, detail) {
    this.stage.dispatchEvent(new CustomEvent(name, { detail }));
  }

  stand(frame) {
    this.frame = frame;
    const words = this.element.dataset.value
      .replace("{time}", this.clock.label(frame))
      .replace("{frame}", frame)
      .replace("{last}", this.clock.lastFrame);
    this.element.setAttribute("aria-valuenow", frame);
    this.element.setAttribute("aria-valuetext", words);
    this.here?.setAttribute("transform", `translate(${this.x(frame)} 0)`);
    this.lit?.replaceChildren(...this.shades());
  }

  // ---- drawing

  x(frame) {
    return ((this.clock.timeOf(frame) - this.start) / this.length) * this.width;
  }

  draw() {
    this.width = this.element.clientWidth;
    this.svg.setAttribute("viewBox", `0 0 ${this.width} ${HEIGHT}`);
    this.svg.replaceChildren(
      ...this.pictures(),
      (this.lit = make("g", {})),
      ...this.guesses.map((guess) => this.guess(guess)),
      ...this.stretches.map((stretch, place) => this.stretch(stretch, place)),
      ...this.marked(),
      ...this.floats(),
    );
    this.here = this.svg.appendChild(make("g", { class: "here" }));
    this.here.append(make("path", { d: `M0 ${NAMES - 5}V${NAMES + FILM + 5}` }));
    this.stand(this.frame);
  }

  /** Cuts the tiles nearest in time out of the one picture that holds them all. */
  pictures() {
    const { strip, every, columns, count, tile } = this.element.dataset;
    const [wide, high] = tile.split(" ").map(Number);
    if (!(wide && high && Number(count))) return [];
    const places = Math.max(4, Math.round(this.width / ((FILM * 16) / 9)));
    const step = this.width / places;
    return Array.from({ length: places }, (_, place) => {
      const time = this.start + ((place + 0.5) / places) * this.length;
      const nearest = Math.round(this.clock.frameAt(time) / Number(every));
      const number = Math.min(Number(count) - 1, nearest);
      const [column, row] = [number % columns, Math.floor(number / columns)];
      const view = `${column * wide} ${row * high} ${wide} ${high}`;
      const window = { x: place * step, y: NAMES, width: Math.max(0, step - 1.5), height: FILM };
      const part = make("svg", { ...window, viewBox: view, preserveAspectRatio: "xMidYMid slice" });
      const rows = Math.ceil(count / columns);
      part.append(make("image", { href: strip, width: columns * wide, height: rows * high }));
      return part;
    });
  }

  /** All but what is cut and what is being marked, which reaches to here while it has no end. */
  shades() {
    const { first, last } = this.mark;
    const marked = { first, last: last > first ? last : this.frame };
    const cut = [...this.stretches, marked]
      .filter((stretch) => stretch.last > stretch.first)
      .map((stretch) => [this.x(stretch.first), this.x(stretch.last)]);
    return gaps(cut, this.width).map(([from, to]) =>
      make("rect", { class: "shade", x: from, y: NAMES, width: to - from, height: FILM }),
    );
  }

  stretch({ first, last, name }, place) {
    const [from, to] = [this.x(first), this.x(last)];
    const group = make("g", { class: "cutmark" });
    const frame = { x: from, y: NAMES - 1, width: Math.max(to - from, 2), height: FILM + 2, rx: 3 };
    group.append(make("rect", { class: "frame", ...frame }));
    group.append(make("text", { class: "no", x: from, y: NAMES - 10 }, place + 1));
    if (to - from > 60) group.append(make("text", { x: from + 18, y: NAMES - 10 }, name));
    return group;
  }

  guess({ first, last, name }) {
    const [from, to] = [this.x(first), this.x(last)];
    const size = { width: Math.max(to - from, 2), height: FILM + 2, rx: 3 };
    const group = make("g", {});
    group.append(make("rect", { class: "guess", x: from, y: NAMES - 1, ...size }));
    if (name && to - from > 60) {
      group.append(make("text", { class: "maybe", x: from, y: NAMES - 10 }, name));
    }
    return group;
  }

  /** The stretch being marked, with its two ends; one end alone while the other is missing. */
  marked() {
    const { first, last } = this.mark;
    const parts = [first, last]
      .filter((frame) => Number.isFinite(frame))
      .map((frame) => {
        const hold = { x: this.x(frame) - 4.5, y: NAMES - 6, width: 9, height: FILM + 12, rx: 4.5 };
        return make("rect", { class: "hold", ...hold });
      });
    if (last > first) {
      const size = { width: this.x(last) - this.x(first), height: FILM + 2, rx: 3 };
      parts.unshift(make("rect", { class: "marking", x: this.x(first), y: NAMES - 1, ...size }));
    }
    return parts;
  }

  floats() {
    const { every, strong } = ruler(this.length);
    const isCrowded = (this.width / this.length) * every < 9;
    const spacing = isCrowded ? strong : every;
    const labels = (this.width / this.length) * strong < 44 ? 5 : 1;
    const parts = [];
    for (let n = 0; n * spacing <= this.length; n += 1) {
      const seconds = n * spacing;
      const x = (seconds / this.length) * this.width;
      const strongs = Math.round((seconds / strong) * 1000) / 1000;
      const isStrong = Number.isInteger(strongs);
      const size = { width: 8, height: isStrong ? 12 : 8, rx: 3 };
      const name = isStrong ? "float strong" : "float";
      parts.push(make("rect", { class: name, x: x - 4, y: FLOATS - (isStrong ? 6 : 4), ...size }));
      if (isStrong && strongs && strongs % labels === 0 && x < this.width - 14) {
        parts.push(make("text", { class: "at", x, y: FLOATS + 21 }, wholeMoment(seconds)));
      }
    }
    return parts;
  }
}

/** The length of a stretch in words of the clock, such as 0:48.60. */
export const lengthOf = (clock, { first, last }) => moment(clock.between(first, last));

function make(name, attributes, words = "") {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (words !== "") node.textContent = words;
  return node;
}
