// Films dropped or chosen on a session's page, sent one after the other. Without this module
// the form sends one film and shows the page again.

import { CANCELLED, REFUSED, WHOLE, send } from "./sending.js";

const BEADS = 24;
const MEGABYTE = 1_000_000;
const language = document.documentElement.lang;
const megabytes = new Intl.NumberFormat(language, {
  style: "unit",
  unit: "megabyte",
  maximumFractionDigits: 0,
});
const size = (bytes, round = Math.ceil) => megabytes.format(round(bytes / MEGABYTE));

class Queue {
  constructor(form) {
    this.form = form;
    this.words = form.dataset;
    this.list = form.querySelector("[data-queue]");
    this.said = form.querySelector("[data-said]");
    this.waiting = [];
    this.current = null;
  }

  get isBusy() {
    return this.current !== null || this.waiting.length > 0;
  }

  add(files) {
    for (const file of files) {
      const film = new Film(file, this);
      this.list.append(film.row);
      const why = this.fault(file);
      if (why) film.close({ end: REFUSED, why, retry: false });
      else this.line(film);
    }
  }

  /** What can be told before a byte is sent; the portal judges the rest. */
  fault(file) {
    if (file.size === 0) return this.words.empty;
    if (file.size <= Number(this.words.maxBytes)) return "";
    return this.words.tooBig
      .replace("{size}", size(file.size))
      .replace("{limit}", size(Number(this.words.maxBytes)));
  }

  line(film) {
    film.wait();
    this.waiting.push(film);
    this.run();
  }

  drop(film) {
    this.waiting = this.waiting.filter((other) => other !== film);
  }

  async run() {
    if (this.current || !this.waiting.length) return;
    this.current = this.waiting.shift();
    await this.current.go();
    this.current = null;
    this.run();
  }
}

class Film {
  constructor(file, queue) {
    this.file = file;
    this.queue = queue;
    this.words = queue.words;
    this.row = document.getElementById("coming").content.firstElementChild.cloneNode(true);
    // As the box stood when the film was chosen; whoever ticks it later means the next ones.
    this.notToBeShown = queue.form.elements.not_to_be_shown.checked;
    this.part("[data-unshown]").hidden = !this.notToBeShown;
    const name = this.part("[data-name]");
    name.textContent = name.title = file.name;
    this.part("[data-beads]").setAttribute("aria-label", file.name);
    this.beads = Array.from({ length: BEADS }, () => document.createElement("i"));
    this.part("[data-beads]").append(...this.beads);
    this.act = this.part("[data-act]");
    this.away = this.part("[data-away-act]");
    this.away.textContent = this.words.away;
    this.away.addEventListener("click", () => this.row.remove());
  }

  part(selector) {
    return this.row.querySelector(selector);
  }

  offer(word, act) {
    this.act.textContent = word;
    this.act.hidden = false;
    this.act.onclick = act;
  }

  wait() {
    this.say(this.words.waiting);
    this.explain("");
    this.fill(0);
    this.away.hidden = true;
    this.offer(this.words.cancel, () => {
      this.queue.drop(this);
      this.close({ end: CANCELLED, why: "", retry: true });
    });
  }

  async go() {
    const { form } = this.queue;
    const sending = send(this.file, {
      url: form.action,
      token: form.elements.csrfmiddlewaretoken.value,
      notToBeShown: this.notToBeShown,
      onSent: (bytes) => this.show(bytes),
    });
    this.show(0);
    this.offer(this.words.cancel, sending.cancel);
    this.close(await sending.done);
  }

  show(bytes) {
    const total = this.file.size;
    const sentence = this.words.sending
      .replace("{done}", size(bytes, Math.floor))
      .replace("{total}", size(total));
    this.say(bytes < total ? sentence : this.words.checking);
    this.fill(bytes / total);
  }

  close({ end, why, retry, status }) {
    const isWhole = end === WHOLE;
    this.say(this.words[end]);
    this.explain((this.words[why] ?? why).replace("{status}", status));
    this.fill(isWhole ? 1 : 0);
    this.row.classList.toggle("is-done", isWhole);
    this.away.hidden = isWhole;
    this.act.hidden = !retry;
    if (retry) this.offer(this.words.retry, () => this.queue.line(this));
    this.queue.said.textContent = `${this.file.name}: ${this.words[end]}. ${this.part("[data-reason]").textContent}`;
    if (isWhole) document.body.dispatchEvent(new CustomEvent("recording:added"));
  }

  say(words) {
    this.part("[data-state]").textContent = words;
  }

  explain(words) {
    this.part("[data-why]").hidden = !words;
    this.part("[data-reason]").textContent = words;
  }

  fill(share) {
    const on = Math.round(share * BEADS);
    this.beads.forEach((bead, place) => bead.classList.toggle("on", place < on));
    this.part("[data-beads]").setAttribute("aria-valuenow", Math.round(share * 100));
  }
}

function listen(form) {
  const queue = new Queue(form);
  const input = form.querySelector("[type=file]");
  const well = form.querySelector(".well");
  input.multiple = true;
  input.required = false;
  input.addEventListener("change", () => {
    queue.add(input.files);
    input.value = "";
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  // Anywhere on the page: a film that misses the well would replace the page.
  document.addEventListener("dragover", (event) => {
    event.preventDefault();
    well.classList.add("over");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) well.classList.remove("over");
  });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    well.classList.remove("over");
    queue.add(event.dataTransfer.files);
  });
  addEventListener("beforeunload", (event) => {
    if (queue.isBusy) event.preventDefault();
  });
}

listen(document.querySelector("[data-upload]"));
