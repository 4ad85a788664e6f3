// The sorting table: marks on the film and the form that cuts it. The form and the list of what
// is kept come anew from the server after each cut; the film is never part of that.

import { announce } from "../kit/announce.js";
import { bindKeys } from "../kit/keys.js";
import { createDrive } from "../player/drive.js";
import { createPlayer } from "../player/player.js";
import { nextPlace, placeOfName } from "./choosing.js";
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
  const stretches = [...document.querySelectorAll("#cutting [data-first]")].map((row) => ({
    first: Number(row.dataset.first),
    last: Number(row.dataset.last),
    name: row.dataset.name,
  }));
  take.show({ stretches, mark: marked });
}

// ---- marks

function setMark(name) {
  input(name).value = player.frame ?? player.target;
  input(name).dispatchEvent(new Event("input", { bubbles: true }));
  const label = form().querySelector(`label[for=id_${name}]`).firstChild.textContent.trim();
  announce(`${label} ${form().querySelector(`[data-at=${name}]`).textContent}`);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-mark], [data-go]");
  if (!button) return;
  if (button.dataset.mark) setMark(button.dataset.mark);
  else if (Number.isFinite(numberIn(button.dataset.go))) {
    ask("seek:request", { frame: numberIn(button.dataset.go) });
  }
});
document.addEventListener("input", (event) => {
  if (event.target.matches("#cut [type=number]")) refresh();
});

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
    Enter: () => form().requestSubmit(document.getElementById("keep")),
    ...digits,
  },
  { help: document.getElementById("keyhelp") },
);

// ---- what the server says

document.body.addEventListener("htmx:afterSettle", () => {
  refresh();
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
