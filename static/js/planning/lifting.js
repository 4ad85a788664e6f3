// Names on the lane plan are lifted and seated: by keys, or dragged. Both press a button of the
// name's own form, which works without any of this.

const plan = () => document.querySelector("[data-plan]");
const lanes = () => [...plan().querySelectorAll("[data-lane]")];

let lifted = null;

/** The lane that a lifted name would go to is marked; `number` 0 is where it hangs. */
function aim(number) {
  for (const lane of lanes()) lane.toggleAttribute("data-aim", lane.dataset.lane === String(number));
}

function laneOf(name) {
  return Number(name.closest("[data-lane]")?.dataset.lane ?? 0);
}

function lift(name) {
  lifted = { name, to: laneOf(name) };
  name.querySelector("summary").dataset.lifted = "";
  aim(lifted.to || 1);
  lifted.to ||= 1;
}

function drop() {
  if (!lifted) return;
  delete lifted.name.querySelector("summary").dataset.lifted;
  lifted = null;
  aim(-1);
}

function press(name, selector) {
  const button = name.querySelector(selector);
  // A press, not a submit: htmx sends the value of the button that was pressed.
  button?.click();
}

function seat(name, number) {
  drop();
  if (number !== laneOf(name)) press(name, `.to [value="${number}"]`);
}

document.addEventListener("keydown", (event) => {
  const name = event.target.closest?.("summary")?.closest("[data-name]");
  if (!name || event.ctrlKey || event.metaKey || event.altKey) return;
  const isLifted = lifted?.name === name;
  const acts = {
    Enter: () => (isLifted ? seat(name, lifted.to) : lift(name)),
    h: () => press(name, "[data-hold]"),
    H: () => press(name, "[data-hold]"),
    Escape: drop,
    ArrowLeft: () => isLifted && move(-1),
    ArrowRight: () => isLifted && move(1),
  };
  const act = acts[event.key];
  if (!act) return;
  if (act() !== false) event.preventDefault();
});

function move(by) {
  const last = lanes().length;
  lifted.to = Math.min(last, Math.max(1, lifted.to + by));
  aim(lifted.to);
}

document.addEventListener("focusout", (event) => {
  if (lifted?.name.contains(event.target)) drop();
});

// ---- dragging

function makeDraggable() {
  for (const summary of plan().querySelectorAll("[data-name] summary")) summary.draggable = true;
}

document.addEventListener("dragstart", (event) => {
  const name = event.target.closest?.("[data-name]");
  if (!name) return;
  drop();
  lifted = { name, to: laneOf(name) };
  name.closest("li").classList.add("is-dragged");
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", name.id);
});

document.addEventListener("dragover", (event) => {
  const lane = event.target.closest?.("[data-lane]");
  if (!lifted || !lane) return;
  event.preventDefault();
  aim(lane.dataset.lane);
});

document.addEventListener("drop", (event) => {
  const lane = event.target.closest?.("[data-lane]");
  if (!lifted || !lane) return;
  event.preventDefault();
  seat(lifted.name, Number(lane.dataset.lane));
});

document.addEventListener("dragend", () => {
  document.querySelector(".is-dragged")?.classList.remove("is-dragged");
  drop();
});

document.addEventListener("htmx:afterSwap", makeDraggable);
makeDraggable();
