// The field in which a comment gets its tag: type a little, choose from a list of at most seven.

import { offer, split } from "./matching.js";

/**
 * `element` holds the combobox and its listbox. Calls `choose(term | null)`; `row(term)` may add
 * a mark at the end of a term's row, and `here()` says what is likely here: see `offer`.
 */
export function createFinder(element, { phrases, choose, row = () => null, here = () => ({}) }) {
  return new Finder(element, { phrases, choose, row, here });
}

class Finder {
  constructor(element, { phrases, choose, row, here }) {
    Object.assign(this, { phrases, choose, row, here });
    this.input = element.querySelector("[role=combobox]");
    this.list = element.querySelector("[role=listbox]");
    this.note = element.querySelector("[data-tag-note]");
    this.terms = [];
    this.chosen = null;
    this.shown = [];
    this.active = -1;
    // Of the last term that was chosen: what is said next is often about the same.
    this.phase = "";
    this.input.addEventListener("input", () => this.typed());
    this.input.addEventListener("keydown", (event) => this.pressed(event));
    this.input.addEventListener("blur", () => this.left());
    // The list must not take the focus from the field, or the field closes it before the click.
    this.list.addEventListener("pointerdown", (event) => event.preventDefault());
    this.list.addEventListener("click", (event) => this.clicked(event));
  }

  get isOpen() {
    return !this.list.hidden;
  }

  /** Offer other terms; what was chosen stays only if it is among them. */
  setTerms(terms) {
    this.terms = terms;
    this.set(terms.find((term) => term.slug === this.chosen?.slug) ?? null);
  }

  /** Choose without telling. */
  set(term) {
    this.chosen = term;
    this.input.value = term?.name ?? "";
    this.close();
  }

  find(slug) {
    return this.terms.find((term) => term.slug === slug) ?? null;
  }

  typed() {
    if (this.input.value.trim() === "") {
      this.take(null);
      return;
    }
    this.open(this.input.value);
  }

  open(typed) {
    const groups = offer(this.terms, typed, { here: { phase: this.phase, ...this.here() } });
    this.shown = groups.flatMap((group) => group.terms);
    this.list.replaceChildren(...groups.map((group) => this.group(group, typed)));
    this.list.hidden = this.shown.length === 0;
    this.input.setAttribute("aria-expanded", this.isOpen);
    this.note.textContent = this.shown.length
      ? this.phrases.found.replace("{count}", this.shown.length)
      : this.phrases.nothingCalled.replace("{typed}", typed);
    this.activate(this.shown.length ? 0 : -1);
  }

  close() {
    this.list.hidden = true;
    this.input.setAttribute("aria-expanded", "false");
    this.input.removeAttribute("aria-activedescendant");
    this.active = -1;
  }

  activate(place) {
    this.active = place;
    for (const option of this.list.querySelectorAll("[role=option]")) {
      const isActive = option.id === `tag-${place}`;
      option.setAttribute("aria-selected", isActive);
      if (isActive) option.scrollIntoView({ block: "nearest" });
    }
    if (place < 0) this.input.removeAttribute("aria-activedescendant");
    else this.input.setAttribute("aria-activedescendant", `tag-${place}`);
  }

  pressed(event) {
    if (event.isComposing || event.ctrlKey || event.metaKey || event.altKey) return;
    const act = this.keys()[event.key] ?? this.numbered(event.key);
    if (!act) return;
    event.preventDefault();
    act();
  }

  /** What each key does now; a key that is missing keeps its own meaning. */
  keys() {
    const count = this.shown.length;
    if (!this.isOpen) return { ArrowDown: () => this.open(""), Enter: () => this.take(this.chosen) };
    return {
      ArrowDown: () => this.activate((this.active + 1) % count),
      ArrowUp: () => this.activate((this.active - 1 + count) % count),
      Enter: () => this.take(this.shown[this.active]),
      Escape: () => this.set(this.chosen),
    };
  }

  /** A digit picks the row of this number, unless a number is being typed. */
  numbered(key) {
    const term = /^[1-9]$/u.test(key) ? this.shown[Number(key) - 1] : null;
    if (!term || !this.isOpen || /\d$/u.test(this.input.value)) return null;
    return () => this.take(term);
  }

  clicked(event) {
    const option = event.target.closest("[role=option]");
    if (option) this.take(this.shown[Number(option.id.replace("tag-", ""))]);
  }

  take(term) {
    this.phase = term?.phase ?? this.phase;
    this.set(term);
    this.choose(term);
  }

  /** What was typed and not chosen is no tag; what was chosen before still is. */
  left() {
    if (this.isOpen || this.input.value !== (this.chosen?.name ?? "")) this.set(this.chosen);
    this.choose(this.chosen);
  }

  group({ phase, terms }, typed) {
    const group = make("div", { role: "group", "aria-label": phase });
    group.append(make("span", { class: "head", "aria-hidden": "true" }, phase));
    group.append(...terms.map((term) => this.option(term, typed)));
    return group;
  }

  option(term, typed) {
    const place = this.shown.indexOf(term);
    const option = make("div", { role: "option", id: `tag-${place}` });
    const [before, found, after] = split(term.name, typed);
    const name = make("b");
    name.append(before, ...(found ? [make("mark", {}, found)] : []), after);
    const words = make("span");
    words.append(name, make("span", { class: "note quiet cut" }, term.see));
    const key = make("kbd", { "aria-hidden": "true" }, place + 1);
    option.append(key, words, ...[this.row(term)].filter(Boolean));
    return option;
  }
}

function make(name, attributes = {}, words = "") {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.textContent = words;
  return node;
}
