// The near rope: every float is one frame, and the fourteen either side of this one are in reach.

import { add, draw, set, UNHEARD } from "./drawing.js";
import { addSlider, request, setSlider } from "./slider.js";

const NEAR_FRAMES = 14;
const NEAR = { pitch: 10, float: 8, height: 24, width: 294 };

/** The frames either side of this one in `element`, a `.frames`; words as for the lane rope. */
export function createNearRope(element, { stage, clock, first, last }) {
  const near = new NearRope(element, { stage, clock, first, last });
  near.setFrame(Number(stage.dataset.shown ?? first));
  return near;
}

class NearRope {
  constructor(element, { stage, clock, first, last }) {
    Object.assign(this, { element, stage, clock, first, last, frame: first });
    const { width, height } = NEAR;
    this.drawing = add(element, "svg", {
      class: "near-rope",
      ...UNHEARD,
      viewBox: `0 0 ${width} ${height}`,
      width,
      height,
    });
    this.floats = Array.from({ length: 2 * NEAR_FRAMES + 1 }, () =>
      draw(this.drawing, "rect", { rx: 3 }),
    );
    this.slider = addSlider(element, this);
    this.slider.addEventListener("click", (event) => {
      const offset = Math.round((event.offsetX - this.slider.clientWidth / 2) / NEAR.pitch);
      const frame = Math.min(last, Math.max(first, this.frame + offset));
      request(stage, "seek:request", { frame });
    });
    stage.addEventListener("frame:shown", (event) => this.setFrame(event.detail.frame));
  }

  setFrame(frame) {
    this.frame = frame;
    setSlider(this.slider, this);
    this.floats.forEach((float, place) => this.place(float, place - NEAR_FRAMES));
  }

  place(float, offset) {
    const frame = this.frame + offset;
    const isTall = (frame - this.first) % 6 === 0;
    const width = offset ? NEAR.float : NEAR.float + 4;
    const height = offset ? (isTall ? 18 : 14) : NEAR.height;
    set(float, {
      class: offset ? "" : "now",
      x: NEAR.width / 2 + offset * NEAR.pitch + 2 * Math.sign(offset) - width / 2,
      y: (NEAR.height - height) / 2,
      width,
      height,
      visibility: frame < this.first || frame > this.last ? "hidden" : "visible",
    });
  }
}
