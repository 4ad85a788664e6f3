// The sorting table: marks on the film and the form that cuts it. The form and the list of what
// is kept come anew from the server after each cut; the film is never part of that.

import { announce } from "../kit/announce.js";
import { bindKeys } from "../kit/keys.js";
import { createDrive } from "../player/drive.js";
import { createPlayer } from "../player/player.js";
import { nextGuess, nextPlace, placeOfName, stretchAt } from "./choosing.js";
import { createTake, lengthOf } from "./take.js";

const stage = document.querySelector(".stage");
const player = createPlayer(stage);
let take = null;
let isAdding = false;

// What the server sends anew is looked up each time.
const form = () => document.getElementById("cut");
const input = (name) => form().elements[name];
const numberIn = (name) => (input(name).value === "" ? NaN : Number(input(name).value));
const mark = () => ({ first: numberIn("first_frame"), last: numberIn("last_frame") });
const ask = (name, detail = {}) => stage.dispatchEvent(new CustomEvent(name, { detail }));

stage.addEventListener("player:state", begin);

function begin() {
  if (!player.clock || take) return;
  const { clock } = player;
  const ends = { first: clock.firstFrame, last: clock.lastFrame };
  createDrive(document.querySelector("[data-drive]"), { stage, clock, ...ends });
  take = createTake(document.querySelector("[data-take]"), { stage, clock });
  refresh();
  goToGuess();
}

/** Draws again what hangs on the form: moments, length, stretches. */
function refresh() {
  if (!take) return;
  const { clock } = player;
  const marked = mark();
  const say = (name, words) => (form().querySelector(name).textContent = words);
  say("[data-at=first_frame]", Number.isFinite(marked.first) ? clock.label(marked.first) : "–");
  say("[data-at=last_frame]", Number.isFinite(marked.last) ? clock.label(marked.last) : "–");
  say("[data-span]", marked.last > marked.first ? lengthOf(clock, marked) : "–");
  form().querySelector("[data-pass]")?.toggleAttribute("hidden", !markedGuess());
  take.show({ stretches: stretches(), guesses: guesses(), mark: marked });
}

const stretches = () =>
  [...document.querySelectorAll("#cutting [data-first]")].map((row) => ({
    first: Number(row.dataset.first),
    last: Number(row.dataset.last),
    name: row.dataset.name,
    row,
  }));
const guesses = () =>
  [...document.querySelectorAll("#cutting [data-guess]")].map((row) => ({
    first: Number(row.dataset.guess),
    last: Number(row.dataset.until),
    name: row.dataset.name,
    row,
  }));

// ---- marks

function setMark(name) {
  input(name).value = player.frame ?? player.target;
  input(name).dispatchEvent(new Event("input", { bubbles: true }));
  const label = form().querySelector(`label[for=id_${name}]`).firstChild.textContent.trim();
  announce(`${label} ${form().querySelector(`[data-at=${name}]`).textContent}`);
}

stage.addEventListener("mark:request", ({ detail: { end, frame } }) => {
  input(`${end}_frame`).value = frame;
  refresh();
});

function goTo(name) {
  if (Number.isFinite(numberIn(name))) ask("seek:request", { frame: numberIn(name) });
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-mark], [data-go], [data-take-guess], [data-pass]");
  if (!button) return;
  if ("pass" in button.dataset) passOver();
  else if (button.dataset.mark) setMark(button.dataset.mark);
  else if (button.dataset.go) goTo(button.dataset.go);
  else takeGuess(guesses().find(({ row }) => row.contains(button)));
});
document.addEventListener("input", (event) => {
  if (event.target.matches("#cut [type=number]")) refresh();
});

// ---- guesses from motion, and what is kept already

/** The guess whose marks the form holds, if they are its own. */
const markedGuess = () => guesses().find(({ first }) => first === mark().first);

function takeGuess(guess) {
  if (!guess) return;
  input("first_frame").value = guess.first;
  input("last_frame").value = guess.last;
  const swimmer = swimmers().find(({ value }) => value === guess.row.dataset.swimmer);
  if (swimmer) for (const box of swimmers()) box.checked = box === swimmer;
  refresh();
  goTo("first_frame");
  announce([guess.row.firstElementChild.textContent.trim(), guess.name].filter(Boolean).join(", "));
}

/** Where the form offers a guess, or a kept clip anew, the film stands at its beginning. */
function goToGuess() {
  if (markedGuess() || input("instead_of").value) goTo("first_frame");
}

function passOver() {
  const guess = markedGuess() ?? stretchAt(guesses(), player.frame, { after: true });
  guess?.row.querySelector("form").requestSubmit();
}

/** Does `act` to the kept clip at the frame that is shown. */
function recut(act, { after }) {
  const frame = player.frame ?? player.target;
  const kept = stretchAt(stretches(), frame, { after });
  if (!kept) return;
  const asked = kept.row.querySelector(".recut form");
  asked.elements.frame.value = frame;
  // Htmx sends the button's own value only after a click.
  asked.querySelector(`[value=${act}]`).click();
}

function cutAnew() {
  const kept = stretchAt(stretches(), player.frame ?? player.target, { after: false });
  kept?.row.querySelector("[data-again]").click();
}

/** Asks whether the kept clip at the frame that is shown is to go; Enter says yes. */
function askToRemove() {
  const kept = stretchAt(stretches(), player.frame ?? player.target, { after: false });
  const question = kept?.row.querySelector(".sure:not(.recut)");
  if (!question) return;
  question.open = true;
  question.querySelector("button").focus();
}

// ---- who, and how

const swimmers = () => [...form().querySelectorAll("[name=swimmers]")];
const nameOf = (box) => box.closest("label").lastElementChild.textContent.trim();

function choose(place) {
  const boxes = swimmers();
  const chosen = boxes[place];
  if (!chosen) return;
  if (!isAdding) for (const box of boxes) box.checked = false;
  chosen.checked = true;
  isAdding = false;
  announce(boxes.filter((box) => box.checked).map(nameOf).join(", "));
}

function cycle(name) {
  const radios = [...form().querySelectorAll(`[name=${name}]`)];
  const radio = radios[nextPlace(radios.findIndex((one) => one.checked), radios.length)];
  radio.checked = true;
  announce(nameOf(radio));
}

function chooseByName(field) {
  const place = placeOfName(swimmers().map(nameOf), field.value);
  const unknown = form().querySelector("[data-unknown-said]");
  unknown.textContent = place < 0 ? field.dataset.unknown.replace("{name}", field.value) : "";
  if (place < 0) return;
  choose(place);
  field.value = "";
  field.blur();
}

document.addEventListener("keydown", (event) => {
  if (event.target.id !== "byname") return;
  if (event.key === "Escape") event.target.blur();
  if (event.key !== "Enter") return;
  event.preventDefault();
  if (event.target.value) chooseByName(event.target);
});

// ---- keys

const digits = Object.fromEntries(
  Array.from({ length: 9 }, (_, place) => [String(place + 1), () => choose(place)]),
);
bindKeys(
  {
    i: () => setMark("first_frame"),
    o: () => setMark("last_frame"),
    ArrowLeft: () => ask("step:request", { by: -1 }),
    ArrowRight: () => ask("step:request", { by: 1 }),
    "Shift+ArrowLeft": () => ask("step:request", { by: -10 }),
    "Shift+ArrowRight": () => ask("step:request", { by: 10 }),
    Space: () => ask("play:toggle"),
    n: () => document.getElementById("byname").focus(),
    a: () => (isAdding = true),
    s: () => cycle("stroke"),
    v: () => cycle("view"),
    e: () => cycle("effort"),
    q: () => cycle("equipment"),
    g: () => takeGuess(guesses()[nextGuess(guesses(), mark().first)]),
    Backspace: passOver,
    Delete: askToRemove,
    Home: () => goTo("first_frame"),
    End: () => goTo("last_frame"),
    c: cutAnew,
    x: () => recut("split", { after: false }),
    "[": () => recut("begin", { after: true }),
    "]": () => recut("end", { after: false }),
    m: () => recut("join", { after: false }),
    z: () => document.getElementById("undo")?.requestSubmit(),
    Enter: () => form().requestSubmit(document.getElementById("keep")),
    ...digits,
  },
  { help: document.getElementById("keyhelp") },
);

// ---- what the server says

document.body.addEventListener("htmx:afterSettle", () => {
  refresh();
  if (take) goToGuess();
  const { said } = document.getElementById("cutting").dataset;
  if (said) announce(said);
});
for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
  document.body.addEventListener(name, () => {
    const line = form().querySelector("[data-lost]");
    line.hidden = false;
    announce(line.textContent.trim());
  });
}
document.body.addEventListener("htmx:beforeRequest", () => {
  form().querySelector("[data-lost]").hidden = true;
});

refresh();
