// The drive row: play, steps, speeds and the clock, whichever of them the page has.

/**
 * Buttons say what they do by data-do="play", data-step="-1" or data-rate="0.25"; `.clock`
 * holds a [data-moment] and a [data-place], which is written by its data-said.
 */
export function createDrive(element, { stage, clock, first, last }) {
  const ask = (name, detail = {}) => stage.dispatchEvent(new CustomEvent(name, { detail }));
  element.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button?.dataset.do === "play") ask("play:toggle");
    if (button?.dataset.step) ask("step:request", { by: Number(button.dataset.step) });
    if (button?.dataset.rate) ask("rate:request", { rate: Number(button.dataset.rate) });
  });
  stage.addEventListener("player:state", (event) => showState(element, event.detail));
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

function showState(element, { playing, rate }) {
  element.querySelector("[data-do=play]")?.setAttribute("aria-pressed", playing);
  for (const button of element.querySelectorAll("[data-rate]")) {
    button.setAttribute("aria-pressed", Number(button.dataset.rate) === rate);
  }
}

function write(node, words) {
  if (node) node.textContent = words;
}
