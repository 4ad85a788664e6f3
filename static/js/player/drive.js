// The drive row: play, steps, speeds, loop, nearness and the clock, whichever the page has.

const DOES = {
  play: "play:toggle",
  loop: "loop:toggle",
  "loop-from": "loop:begin",
  "loop-to": "loop:end",
  screen: "screen:toggle",
};

/**
 * Buttons say what they do by data-do, a key of DOES, or by data-step="-1", data-rate="0.25",
 * data-near="1"; `.clock` holds a [data-moment] and a [data-place], which is written by its
 * data-said.
 */
export function createDrive(element, { stage, clock, first, last }) {
  const ask = (name, detail = {}) => stage.dispatchEvent(new CustomEvent(name, { detail }));
  element.addEventListener("click", (event) => {
    const { do: does, step, rate, near } = event.target.closest("button")?.dataset ?? {};
    if (does in DOES) ask(DOES[does]);
    if (step) ask("step:request", { by: Number(step) });
    if (rate) ask("rate:request", { rate: Number(rate) });
    if (near) ask("near:request", { by: Number(near) });
  });
  const press = (name, isPressed) =>
    element.querySelector(`[data-do="${name}"]`)?.setAttribute("aria-pressed", isPressed);
  stage.addEventListener("player:state", ({ detail }) => {
    press("play", detail.playing);
    for (const button of element.querySelectorAll("[data-rate]")) {
      button.setAttribute("aria-pressed", Number(button.dataset.rate) === detail.rate);
    }
  });
  stage.addEventListener("loop:changed", ({ detail }) => press("loop", detail.first !== null));
  stage.addEventListener("near:changed", ({ detail }) => showScale(element, detail.scale));
  stage.addEventListener("frame:shown", (event) => {
    const { frame } = event.detail;
    write(element.querySelector("[data-moment]"), clock.label(frame, first));
    const place = element.querySelector("[data-place]");
    write(
      place,
      place?.dataset.said.replace("{frames}", last - first + 1).replace("{frame}", frame - first),
    );
  });
}

/** What cannot be farther or nearer is not offered. */
function showScale(element, scale) {
  write(element.querySelector("[data-scale]"), `${Math.round(scale * 100)} %`);
  for (const button of element.querySelectorAll("[data-near]")) {
    const isOver = scale === 1 && Number(button.dataset.near) <= 0;
    button.setAttribute("aria-disabled", isOver);
  }
}

function write(node, words) {
  if (node) node.textContent = words;
}
