// Sliders over the recording's frame numbers. Words come from the element they stand in:
// data-label ("Time line") and data-said ("{moment}, frame {frame} of {frames}").

import { add, set } from "./drawing.js";

/** A slider over the frames of a clip, in `element`; its keys ask the stage. */
export function addSlider(element, { first, last, stage, clock }) {
  const slider = add(element, "div", {
    class: "slider",
    role: "slider",
    tabindex: 0,
    "aria-label": element.dataset.label,
    "aria-valuemin": first,
    "aria-valuemax": last,
  });
  const perSecond = Math.max(1, Math.round((last - first) / (clock.between(first, last) || 1)));
  const steps = {
    ArrowLeft: -1,
    ArrowDown: -1,
    ArrowRight: 1,
    ArrowUp: 1,
    PageUp: perSecond,
    PageDown: -perSecond,
  };
  slider.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key in steps) {
      const by = steps[event.key] * (event.shiftKey ? 10 : 1);
      request(stage, "step:request", { by });
    } else if (event.key === "Home") request(stage, "seek:request", { frame: first });
    else if (event.key === "End") request(stage, "seek:request", { frame: last });
    else return;
    event.preventDefault();
  });
  return slider;
}

export function setSlider(slider, { element, clock, frame, first, last }) {
  set(slider, {
    "aria-valuenow": frame,
    "aria-valuetext": (element.dataset.said ?? "")
      .replace("{moment}", clock.label(frame, first))
      .replace("{frames}", last - first + 1)
      .replace("{frame}", frame - first),
  });
}

/** A tap seeks, and so does a drag while it lasts; a finger may still scroll the page. */
export function scrub(slider, go) {
  const isDragging = (event) => event.buttons === 1 && slider.hasPointerCapture(event.pointerId);
  slider.addEventListener("pointerdown", (event) => slider.setPointerCapture(event.pointerId));
  slider.addEventListener("pointermove", (event) => isDragging(event) && go(event.offsetX));
  slider.addEventListener("click", (event) => go(event.offsetX));
}

export function request(stage, name, detail) {
  stage.dispatchEvent(new CustomEvent(name, { detail, bubbles: true }));
}
