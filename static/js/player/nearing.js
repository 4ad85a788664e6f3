// Drawing the picture near: wheel, pinch, drag, tap and requests. What lies in it comes along.

import { moved, nearer, settle, transformOf, WHOLE } from "./viewing.js";

const A_STEP = 1.25;
const A_MOVE = 0.25;
// Movement under this many pixels is a tap.
const TAP = 6;

/**
 * Listens on a stage with a `.picture`: `near:request {by}` (1 nearer, -1 farther, 0 whole) and
 * `move:request {right, down}` in moves of a quarter of what is seen. Tells `near:changed`.
 */
export function createNearing(stage) {
  const nearing = new Nearing(stage);
  nearing.listen();
  return nearing;
}

class Nearing {
  constructor(stage) {
    this.stage = stage;
    this.picture = stage.querySelector(".picture");
    this.view = WHOLE;
    this.pointers = new Map();
    this.hasMoved = false;
  }

  get isNear() {
    return this.view.scale > 1;
  }

  listen() {
    const { stage } = this;
    const on = (name, act, how) => stage.addEventListener(name, (event) => act(event), how);
    on("near:request", ({ detail }) => this.ask(detail.by));
    on("move:request", ({ detail: { right = 0, down = 0 } }) =>
      this.show(moved(this.view, { right: right * A_MOVE, down: down * A_MOVE }, this.room)),
    );
    on("wheel", (event) => this.roll(event), { passive: false });
    on("pointerdown", (event) => this.press(event));
    on("pointermove", (event) => this.drag(event));
    on("pointerup", (event) => this.lift(event));
    on("pointercancel", (event) => this.lift(event));
    new ResizeObserver(() => this.show(settle(this.view, this.room))).observe(stage);
  }

  ask(by) {
    if (by) this.show(nearer(this.view, A_STEP ** by, this.view, this.room));
    else this.show(WHOLE);
  }

  show(view) {
    const isNew = view.scale !== this.view.scale;
    this.view = view;
    this.picture.style.transform = transformOf(view);
    this.stage.toggleAttribute("data-near", this.isNear);
    const detail = { scale: view.scale, isNear: this.isNear };
    if (isNew) this.stage.dispatchEvent(new CustomEvent("near:changed", { detail }));
  }

  /** The stage's size as shares of the whole picture's. */
  get room() {
    const { offsetWidth, offsetHeight } = this.picture;
    return {
      wide: this.stage.clientWidth / offsetWidth || 1,
      high: this.stage.clientHeight / offsetHeight || 1,
    };
  }

  /** What of the picture lies under a point of the page. */
  placeOf({ clientX, clientY }) {
    const box = this.picture.getBoundingClientRect();
    return { x: (clientX - box.left) / box.width, y: (clientY - box.top) / box.height };
  }

  /** The wheel is the page's own, unless Ctrl is held, as a pinch on a pad does, or it is near. */
  roll(event) {
    if (!(event.ctrlKey || event.metaKey || this.isNear)) return;
    event.preventDefault();
    const pixels = event.deltaY * (event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1);
    // A pinch on a pad tells small numbers, a wheel's click about a hundred.
    const factor = Math.exp(-pixels / (event.ctrlKey && Math.abs(pixels) < 50 ? 100 : 500));
    this.show(nearer(this.view, factor, this.placeOf(event), this.room));
  }

  // ---- pointers: what is drawn or pressed over the film keeps its own

  isFilm(node) {
    return node === this.stage || node === this.picture || node.tagName === "VIDEO";
  }

  press(event) {
    if (event.button || !this.isFilm(event.target)) return;
    if (!this.isNear && event.pointerType !== "touch") return;
    this.hasMoved = this.pointers.size > 0;
    this.pointers.set(event.pointerId, { clientX: event.clientX, clientY: event.clientY });
    if (this.isNear) this.stage.setPointerCapture(event.pointerId);
  }

  drag(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const now = { clientX: event.clientX, clientY: event.clientY };
    const far = Math.hypot(now.clientX - before.clientX, now.clientY - before.clientY);
    if (this.pointers.size === 1 && !this.hasMoved && far < TAP) return;
    this.hasMoved = true;
    if (this.pointers.size === 2) this.pinch(event.pointerId, now);
    else if (this.isNear) this.pull(before, now);
    this.pointers.set(event.pointerId, now);
    this.stage.toggleAttribute("data-held", this.isNear);
  }

  pull(before, now) {
    const { x, y } = this.placeOf(before);
    const after = this.placeOf(now);
    const { scale } = this.view;
    this.show(settle({ scale, x: this.view.x + x - after.x, y: this.view.y + y - after.y }, this.room));
  }

  pinch(id, now) {
    const [other] = [...this.pointers].filter(([key]) => key !== id).map(([, place]) => place);
    const before = this.pointers.get(id);
    const apart = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
    const middle = (one) => ({
      clientX: (one.clientX + other.clientX) / 2,
      clientY: (one.clientY + other.clientY) / 2,
    });
    this.pull(middle(before), middle(now));
    const factor = apart(now) / Math.max(1, apart(before));
    this.show(nearer(this.view, factor, this.placeOf(middle(now)), this.room));
  }

  /** A tap on what is near puts that place in the middle: nobody has to drag. */
  lift(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    if (!this.pointers.size) this.stage.removeAttribute("data-held");
    if (event.type !== "pointerup" || this.hasMoved || !this.isNear) return;
    this.show(settle({ scale: this.view.scale, ...this.placeOf(event) }, this.room));
  }
}
