// Films dropped or chosen on a session's page, sent one after the other. Without this module
// the form sends one film and shows the page again.

import { CANCELLED, REFUSED, WHOLE, forget, send } from "./sending.js";
import { stayAwake } from "./waking.js";

const BEADS = 24;
const MEGABYTE = 1_000_000;
// As the portal refuses them by name (receiving.NO_FILMS).
const NO_FILMS = /^(image|audio)\/|^(text\/plain|application\/(pdf|zip))/;
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
    this.all = form.querySelector("[data-all]");
    this.films = [];
    this.waiting = [];
    this.current = null;
  }

  get isBusy() {
    return this.current !== null || this.waiting.length > 0;
  }

  add(files) {
    for (const file of files) {
      const why = this.fault(file);
      const film = new Film(file, this);
      this.list.append(film.row);
      this.films.push(film);
      if (why) film.close({ end: REFUSED, why, retry: false });
      else this.line(film);
    }
  }

  /** What can be told before a byte is sent; the portal judges the rest. */
  fault(file) {
    const room = Number(this.words.roomBytes) - this.promised;
    const fill = (words, more) =>
      Object.entries({ size: size(file.size), ...more }).reduce(
        (said, [name, value]) => said.replace(`{${name}}`, value),
        words,
      );
    if (file.size === 0) return this.words.empty;
    if (NO_FILMS.test(file.type)) return this.words.noFilm;
    const limit = Number(this.words.maxBytes);
    if (file.size > limit) return fill(this.words.tooBig, { limit: size(limit) });
    if (file.size > room) return fill(this.words.noRoom, { room: size(room, Math.floor) });
    return "";
  }

  /** Bytes that films of this page have been let in for: the page said its room before them. */
  get promised() {
    return this.films.reduce((sum, film) => sum + (film.counts ? film.file.size : 0), 0);
  }

  line(film) {
    film.wait();
    this.waiting.push(film);
    this.run();
  }

  drop(film) {
    this.waiting = this.waiting.filter((other) => other !== film);
  }

  leave(film) {
    this.films = this.films.filter((other) => other !== film);
    this.tell();
  }

  async run() {
    if (this.current || !this.waiting.length) return;
    this.current = this.waiting.shift();
    stayAwake(true);
    await this.current.go();
    this.current = null;
    stayAwake(this.isBusy);
    this.run();
  }

  /** How far all of them are, once there is more than one. */
  tell() {
    const coming = this.films.filter((film) => film.counts);
    const sum = (of) => coming.reduce((total, film) => total + of(film), 0);
    this.all.hidden = coming.length < 2;
    this.all.textContent = this.words.inAll
      .replace("{whole}", sum((film) => Number(film.isWhole)))
      .replace("{films}", coming.length)
      .replace("{done}", size(sum((film) => film.done), Math.floor))
      .replace("{total}", size(sum((film) => film.file.size)));
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
    this.done = 0;
    this.counts = true;
    this.isWhole = false;
    this.token = queue.form.elements.csrfmiddlewaretoken.value;
  }

  part(selector) {
    return this.row.querySelector(selector);
  }

  offer(button, word, act) {
    button.textContent = word;
    button.hidden = !act;
    button.onclick = act;
  }

  get way() {
    return { url: this.words.arrivals, token: this.token };
  }

  wait() {
    this.counts = true;
    this.say(this.words.waiting);
    this.explain("");
    this.offer(this.act, "", null);
    this.offer(this.away, this.words.cancel, () => {
      this.queue.drop(this);
      forget(this.file, this.way);
      this.close({ end: CANCELLED, why: "", retry: true });
    });
    this.queue.tell();
  }

  async go() {
    const sending = send(this.file, {
      ...this.way,
      notToBeShown: this.notToBeShown,
      onSent: (bytes) => this.show(bytes),
      onWait: () => this.lose(),
    });
    this.show(this.done);
    this.offer(this.act, this.words.pause, sending.pause);
    this.offer(this.away, this.words.cancel, sending.cancel);
    this.close(await sending.done);
  }

  show(bytes) {
    const total = this.file.size;
    const sentence = this.words.sending
      .replace("{done}", size(bytes, Math.floor))
      .replace("{total}", size(total));
    this.done = bytes;
    this.explain("");
    this.say(bytes < total ? sentence : this.words.checking);
    this.fill(bytes / total);
    this.queue.tell();
  }

  lose() {
    this.say(this.words.broken);
    this.explain(this.words.brokenWhy);
  }

  close({ end, why, retry, status }) {
    this.isWhole = end === WHOLE;
    this.counts = end !== REFUSED && end !== CANCELLED;
    if (!this.counts) this.done = 0;
    this.say(this.words[end]);
    this.explain((this.words[why] ?? why).replace("{status}", status));
    if (this.isWhole || !this.counts) this.fill(Number(this.isWhole));
    this.row.classList.toggle("is-done", this.isWhole);
    this.offer(this.act, this.words[end + "Act"] ?? this.words.retry, retry ? () => this.again() : null);
    this.offer(this.away, this.words.away, this.isWhole ? null : () => this.putAway());
    this.queue.said.textContent = `${this.file.name}: ${this.words[end]}. ${this.part("[data-reason]").textContent}`;
    this.queue.tell();
    if (this.isWhole) document.body.dispatchEvent(new CustomEvent("recording:added"));
  }

  /** Whoever signed in again meanwhile has a new token. */
  async again() {
    this.token = (await freshToken()) ?? this.token;
    this.queue.line(this);
  }

  putAway() {
    forget(this.file, this.way);
    this.row.remove();
    this.queue.leave(this);
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

async function freshToken() {
  try {
    const page = await (await fetch(location.href)).text();
    const read = new DOMParser().parseFromString(page, "text/html");
    return read.querySelector("[data-upload] [name=csrfmiddlewaretoken]")?.value;
  } catch {
    return undefined;
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
