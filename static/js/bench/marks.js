// Timing: marks on the clip, and what the server works out of them.

import { announce } from "../kit/announce.js";
import { add } from "../player/drawing.js";
import { request } from "../player/slider.js";

const NUMBERS = { entry: "cycle", dolphin: "kick", coming: "metres", going: "metres" };

/**
 * The sheet `element`, [data-marks]. `send(url, body)` posts, `label(frame)` says a moment and
 * `opened()` is told before it takes the slip's place. Marks are told to `ticks(frames)`.
 */
export function createMarks(element, { stage, player, send, label, newCode, opened, ticks }) {
  const marks = new Marks(element, { stage, player, send, label, newCode, opened, ticks });
  marks.listen();
  marks.load();
  return marks;
}

class Marks {
  constructor(element, given) {
    Object.assign(this, given, { element, marks: [], done: [] });
    this.kinds = [...element.querySelectorAll("[data-kind]")];
    this.running = Promise.resolve();
  }

  get isOpen() {
    return !this.element.hidden;
  }

  part(name) {
    return this.element.querySelector(`[data-${name}]`);
  }

  listen() {
    for (const button of this.kinds) {
      button.addEventListener("click", () => this.put(button.dataset.kind));
    }
    this.part("undo").addEventListener("click", () => this.undo());
    this.part("shut").addEventListener("click", () => this.toggle());
    this.opener?.addEventListener("click", () => this.toggle());
  }

  get opener() {
    return document.querySelector("[data-do=time]");
  }

  /** For bindKeys; the digits mark only while the sheet lies open. */
  commands() {
    const whileOpen = (act) => () => this.isOpen && act();
    const digits = this.kinds.map((button, place) => [
      String(place + 1),
      whileOpen(() => this.put(button.dataset.kind)),
    ]);
    return {
      t: () => this.toggle(),
      z: whileOpen(() => this.undo()),
      ...Object.fromEntries(digits.slice(0, 9)),
    };
  }

  toggle() {
    if (this.isOpen) this.close();
    else this.open();
  }

  open() {
    this.opened();
    this.element.hidden = false;
    this.opener?.setAttribute("aria-pressed", true);
    this.element.scrollIntoView({ block: "nearest" });
  }

  close() {
    const hadFocus = this.element.contains(document.activeElement);
    this.element.hidden = true;
    this.opener?.setAttribute("aria-pressed", false);
    if (hadFocus) this.stage.focus({ preventScroll: true });
  }

  // ---- marking: one request after the other, so that numbers count on

  async load() {
    await this.player.ready;
    const reply = await fetch(this.element.dataset.address).catch(() => null);
    if (reply?.ok) this.show(await reply.json());
  }

  put(kind) {
    this.player.pause();
    const code = this.newCode();
    const frame = this.player.target;
    this.ask(this.element.dataset.address, { code, kind, frame }, () => this.changed(code, { lifted: true }));
  }

  lift(mark) {
    const { code, name } = mark;
    this.tell(this.element.dataset.taken.replace("{name}", name));
    this.ask(this.address(code), { lifted: true }, () => this.changed(code, { lifted: false }));
  }

  count(mark, number) {
    const before = mark.number;
    this.ask(this.address(mark.code), { number }, () => this.changed(mark.code, { number: before }));
  }

  undo() {
    this.done.pop()?.();
    this.part("undo").disabled = !this.done.length;
  }

  changed(code, body) {
    this.ask(this.address(code), body);
  }

  /** The address of a mark is that of the clip with the mark's code in its place. */
  address(code) {
    const { change, clip } = this.element.dataset;
    return change.replace(clip, code);
  }

  ask(url, body, undo) {
    this.running = this.running.then(() => this.post(url, body, undo));
    return this.running;
  }

  async post(url, body, undo) {
    const reply = await this.send(url, body).catch(() => null);
    if (reply?.status !== 200) {
      const errors = Object.values(reply?.answer?.errors ?? {});
      this.tell(errors.join(" ") || this.element.dataset.lost);
      return;
    }
    if (!("lifted" in body)) this.tell("");
    if (undo) this.done.push(undo);
    this.part("undo").disabled = !this.done.length;
    this.show(reply.answer);
    const set = this.marks.find(({ code }) => code === body.code);
    if (set) announce(`${set.name}, ${this.label(set.frame)}`);
  }

  tell(words) {
    this.part("wrong").textContent = words;
  }

  // ---- showing

  show({ marks, figures, pace }) {
    this.marks = marks;
    this.part("pace").textContent = pace;
    this.part("pace").hidden = !pace;
    const held = document.activeElement?.dataset?.mark;
    this.part("set").replaceChildren(...marks.map((mark) => this.line(mark)));
    this.part("figures").replaceChildren(...figures.flatMap((figure) => this.figure(figure)));
    this.ticks(marks.map(({ frame }) => frame));
    if (held) this.part("set").querySelector(`[data-mark="${held}"]`)?.focus();
  }

  line(mark) {
    const item = document.createElement("li");
    const go = add(item, "button", { class: "go", type: "button", "data-mark": `go ${mark.code}` });
    add(go, "b").textContent = this.label(mark.frame);
    add(go, "span").textContent = mark.name;
    go.addEventListener("click", () => request(this.stage, "seek:request", { frame: mark.frame }));
    if (mark.number !== null) this.addNumber(item, mark);
    const words = this.element.dataset.lift.replace("{name}", mark.name);
    const lift = add(item, "button", {
      class: "may small bare",
      type: "button",
      "aria-label": words.replace("{time}", this.label(mark.frame)),
    });
    lift.textContent = "×";
    lift.addEventListener("click", () => this.lift(mark));
    return item;
  }

  addNumber(item, mark) {
    const unit = NUMBERS[mark.kind];
    const field = add(item, "input", {
      type: "number",
      min: 0,
      max: 200,
      step: unit === "metres" ? 0.5 : 1,
      "aria-label": `${this.element.dataset[unit]}: ${mark.name}`,
      "data-mark": `number ${mark.code}`,
    });
    field.value = mark.number;
    field.addEventListener("change", () => field.value && this.count(mark, Number(field.value)));
  }

  figure({ name, value, error, means, frame }) {
    const term = document.createElement("dt");
    term.textContent = name;
    const figure = document.createElement("dd");
    const line = add(figure, "button", { class: "go", type: "button" });
    if (value) add(line, "b").textContent = value;
    if (error) add(line, "span", { class: "note quiet" }).textContent = error;
    if (!value) add(line, "span", { class: "note" }).textContent = this.label(frame);
    line.addEventListener("click", () => request(this.stage, "seek:request", { frame }));
    add(figure, "p", { class: "note soft" }).textContent = means;
    return [term, figure];
  }
}
