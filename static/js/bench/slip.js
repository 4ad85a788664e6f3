// The slip: the sheet on which one comment is written. It reads and fills its own fields and
// tells the bench what was said; keeping it is the keeper's work.

import { createFinder } from "./finder.js";

/** The fields of a comment as the server names them, from the comment as it tells them. */
export const fieldsOf = (comment) => ({
  frame: comment.frame,
  last_frame: comment.lastFrame,
  swimmers: comment.swimmers,
  verdict: comment.verdict,
  tag: comment.tag,
  words: comment.words,
  staff_note: comment.staffNote,
  cue: comment.cue,
  drill: comment.drill,
  dose: comment.dose,
  focus: comment.focus,
  drawing: comment.drawing,
});

/** Whether anything was said that is worth keeping before somebody asks for it. */
export const saysSomething = (fields) =>
  Boolean(fields.tag || fields.drill || fields.last_frame || fields.drawing)
  || [fields.words, fields.staff_note, fields.cue, fields.dose].some((text) => text.trim());

/**
 * `hears(name)`: `said` when a field changed; `keep`, `close`, `drop` when asked to. `label`
 * names a frame's moment, `shownFrame()` is the frame on the stage.
 */
export function createSlip(form, { terms, phrases, label, shownFrame, signOf, hears }) {
  const slip = new Slip(form, { terms, phrases, label, shownFrame, signOf, hears });
  slip.listen();
  return slip;
}

class Slip {
  constructor(form, { terms, phrases, label, shownFrame, signOf, hears }) {
    Object.assign(this, { form, terms, phrases, label, shownFrame, hears });
    this.frame = null;
    this.lastFrame = null;
    this.offered = { cue: "", drill: "", dose: "" };
    this.remembered = new Map();
    this.finder = createFinder(form.querySelector("[data-finder]"), {
      phrases,
      choose: (term) => this.tagged(term),
      row: (term) => (term.rules?.length ? signOf("not legal") : null),
      here: () => ({
        items: new Set(openItems()),
        month: new Set(terms.month),
        stroke: terms.stroke,
      }),
    });
    fillDrills(this.field("drill"), terms.drills);
  }

  field(name) {
    return this.form.elements[name];
  }

  part(name) {
    return this.form.querySelector(`[data-${name}]`);
  }

  get isOpen() {
    return !this.form.hidden;
  }

  /** Somebody is at one of its fields. */
  get isWrittenOn() {
    return this.form.contains(document.activeElement);
  }

  get isPraise() {
    return this.verdict === "good";
  }

  get verdict() {
    return this.field("verdict").value;
  }

  listen() {
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.hears("keep");
    });
    this.form.addEventListener("input", (event) => this.changed(event.target));
    this.part("stretch").addEventListener("click", () => this.stretch(this.shownFrame()));
    this.part("one").addEventListener("click", () => this.stretch(null));
    this.part("young").addEventListener("click", () => this.speakYounger());
    this.part("close").addEventListener("click", () => this.hears("close"));
    this.part("drop").addEventListener("click", () => this.hears("drop"));
    this.part("repeat").addEventListener("click", () => this.hears("repeat"));
  }

  // ---- filling and reading

  open(fields, { isOffering = false } = {}) {
    this.frame = fields.frame;
    this.lastFrame = fields.last_frame;
    this.drawing = fields.drawing ?? null;
    this.field("verdict").value = fields.verdict;
    this.remembered.clear();
    this.turn();
    this.finder.set(this.finder.find(fields.tag) ?? knownBy(this.terms, fields.tag));
    this.remember();
    for (const name of ["words", "staff_note", "cue", "drill", "dose"]) {
      this.field(name).value = fields[name];
    }
    this.part("aside").open = Boolean(fields.staff_note);
    this.field("focus").checked = fields.focus;
    for (const box of this.form.querySelectorAll("[name=swimmers][type=checkbox]")) {
      box.checked = fields.swimmers.includes(box.value);
    }
    this.offered = isOffering ? this.offerOf(this.finder.chosen) : { cue: "", drill: "", dose: "" };
    this.showWrong({});
    this.showMoment();
    this.showTerm();
    this.form.hidden = false;
  }

  close() {
    this.finder.close();
    this.form.hidden = true;
  }

  /** What praise does not have stays on the slip, in case the verdict turns back. */
  read() {
    const said = (name) => (this.isPraise ? "" : this.field(name).value);
    return {
      frame: this.frame,
      last_frame: this.lastFrame,
      swimmers: this.swimmers(),
      verdict: this.verdict,
      tag: this.finder.chosen?.slug ?? "",
      words: this.field("words").value,
      staff_note: this.field("staff_note").value,
      cue: said("cue"),
      drill: said("drill"),
      dose: said("dose"),
      focus: !this.isPraise && this.field("focus").checked,
      drawing: this.drawing,
    };
  }

  swimmers() {
    const boxes = [...this.form.querySelectorAll("[name=swimmers]")];
    return boxes.filter((box) => box.type === "hidden" || box.checked).map((box) => box.value);
  }

  /** All to whom something can still be said; whose notes are out cannot be ticked. */
  everybody() {
    const boxes = [...this.form.querySelectorAll("[name=swimmers]")];
    return boxes.filter((box) => !box.disabled).map((box) => box.value);
  }

  /** To whom the same can be said: not to those for whom it is already. */
  offerOthers(isKept) {
    const here = this.swimmers();
    for (const box of this.others()) {
      box.checked = false;
      box.closest("label").hidden = here.includes(box.value);
    }
    this.part("same").hidden = !isKept || this.others().every((box) => box.closest("label").hidden);
    this.part("same").open = false;
  }

  get isOfferingOthers() {
    return !this.part("same").hidden;
  }

  others() {
    return [...this.form.querySelectorAll("[data-other]")];
  }

  chosenOthers() {
    return this.others().filter((box) => box.checked).map((box) => box.value);
  }

  focusFinder() {
    this.finder.input.focus();
  }

  focusWords() {
    this.field("words").focus();
  }

  // ---- what changes what

  changed(target) {
    if (target.name === "verdict") {
      this.turn();
      this.showTerm();
    }
    if (target.name === "drill") this.drilled();
    // What is typed into the finder is no tag until it is chosen.
    if (target !== this.finder.input && !("other" in target.dataset)) this.hears("said");
  }

  /** Praise tags a checkpoint, a correction a fault; a rule problem one that has a rule. */
  turn() {
    const { checkpoints, faults } = this.terms;
    const ruled = faults.filter((fault) => fault.rules.length);
    const lists = { good: checkpoints, "work on": faults, "not legal": ruled };
    this.finder.setTerms(lists[this.verdict]);
    if (!this.finder.chosen) this.finder.set(this.finder.find(this.remembered.get(this.isPraise)));
    this.part("tag-label").textContent = this.isPraise ? this.phrases.checkpoint : this.phrases.fault;
    this.part("correction").hidden = this.isPraise;
  }

  tagged(term) {
    const isNew = term !== null && term.slug !== this.remembered.get(this.isPraise);
    this.remember();
    if (isNew) this.offer(term);
    this.showTerm();
    this.hears("said");
    if (isNew && document.activeElement === this.finder.input) this.focusWords();
  }

  /** One tag for praise and one for corrections, in case the verdict turns back. */
  remember() {
    this.remembered.set(this.isPraise, this.finder.chosen?.slug ?? "");
  }

  /** Put a fault's cue, drill and dose where nothing else was written. */
  offer(term) {
    const offer = this.offerOf(term);
    for (const name of ["cue", "drill", "dose"]) {
      const field = this.field(name);
      if (field.value === "" || field.value === this.offered[name]) field.value = offer[name];
    }
    this.offered = offer;
  }

  offerOf(term) {
    const drill = this.drill(term?.drills?.[0]);
    return { cue: term?.cue ?? "", drill: drill?.slug ?? "", dose: drill?.dose ?? "" };
  }

  drill(slug) {
    return this.terms.drills.find((drill) => drill.slug === slug);
  }

  drilled() {
    const dose = this.field("dose");
    const offer = this.drill(this.field("drill").value)?.dose ?? "";
    if (dose.value === "" || dose.value === this.offered.dose) dose.value = offer;
    this.offered.dose = offer;
    this.showTerm();
  }

  speakYounger() {
    this.field("cue").value = this.finder.chosen.cueYoung;
    this.hears("said");
    this.field("cue").focus();
  }

  draw(drawing) {
    this.drawing = drawing;
    this.hears("said");
  }

  stretch(frame) {
    if (frame !== null && frame <= this.frame) {
      this.part("kind").textContent = this.phrases.goOn;
      return;
    }
    this.lastFrame = frame;
    this.showMoment();
    this.hears("said");
    this.part(frame === null ? "stretch" : "one").focus();
  }

  // ---- what is shown

  showMoment() {
    const [time, end] = [this.label(this.frame), this.label(this.lastFrame ?? this.frame)];
    const isStretch = this.lastFrame !== null;
    const words = isStretch ? this.phrases.from : this.phrases.at;
    this.part("when").textContent = words.replace("{time}", time).replace("{end}", end);
    this.part("kind").textContent = isStretch ? "" : this.phrases.oneFrame;
    this.part("stretch").hidden = isStretch;
    this.part("one").hidden = !isStretch;
  }

  showTerm() {
    const term = this.finder.chosen;
    const rule = this.verdict === "not legal" ? term?.rules?.[0] : "";
    const note = rule ? this.phrases.breaks.replace("{rule}", rule) : (term?.see ?? "");
    this.part("tag-note").textContent = note;
    const young = term?.cueYoung;
    this.part("young").hidden = !young || young === this.field("cue").value;
    const drill = this.drill(this.field("drill").value);
    const cautions = new Set([...(term?.cautions ?? []), ...(drill?.cautions ?? [])]);
    this.part("cautions").replaceChildren(...[...cautions].map((text) => this.caution(text)));
  }

  caution(text) {
    const node = this.part("caution").content.firstElementChild.cloneNode(true);
    node.querySelector("span").textContent = text;
    return node;
  }

  /** Say at each field what is wrong with it; a field that is not here gets the first place. */
  showWrong(errors) {
    const places = [...this.form.querySelectorAll("[data-wrong]")];
    for (const place of places) {
      const names = place.dataset.wrong.split(" ");
      place.textContent = names.map((name) => errors[name] ?? "").filter(Boolean).join(" ");
      for (const name of names) this.field(name)?.setAttribute?.("aria-invalid", name in errors);
    }
    const known = places.flatMap((place) => place.dataset.wrong.split(" "));
    const rest = Object.keys(errors).filter((name) => !known.includes(name));
    places[0].textContent += rest.map((name) => errors[name]).join(" ");
  }
}

/** A tag that is offered no longer still stands on what it was said of. */
function knownBy({ checkpoints, faults, unoffered }, slug) {
  return [...checkpoints, ...faults, ...unoffered].find((term) => term.slug === slug) ?? null;
}

/** Slugs of what is still open of the swimmers on this bench. */
function openItems() {
  const rows = [...document.querySelectorAll("[data-item]")];
  return rows.flatMap((row) => row.dataset.item.split(" "));
}

function fillDrills(select, drills) {
  const groups = new Map();
  for (const { slug, name, phase } of drills) {
    if (!groups.has(phase)) {
      const group = document.createElement("optgroup");
      group.label = phase;
      groups.set(phase, select.appendChild(group));
    }
    groups.get(phase).append(new Option(name, slug));
  }
}
