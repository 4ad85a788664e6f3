// What a hand does with a tool, without the page: points are set one after the other, by dragging
// or by tapping, and become a shape; shapes are picked, moved and taken away. All can be undone.

import {
  degrees, grip, history, hit, isFull, isShape, makeShape, moved, NEEDS, point, simplify, spread,
  UNSURE,
} from "./shapes.js";

export const TOOLS = ["line", "arrow", "free", "ellipse", "angle", "text", "move"];
// Shares of the height: nearer than this is a tap, or ends a stroke that is tapped.
const TAP = 0.012;

/** `tell(name, detail)` hears `changed`, `shown`, `full`, `nothing`, `unsure` and `words`. */
export function createPencil({ aspect, tell }) {
  return new Pencil(aspect, tell);
}

class Pencil {
  constructor(aspect, tell) {
    Object.assign(this, { aspect, tell, tool: null });
    this.begin([]);
  }

  /** Take up these shapes; there is nothing to undo yet. */
  begin(shapes) {
    this.story = history.begin(shapes);
    this.clear();
  }

  /** Nothing is begun, and nothing is picked. */
  clear() {
    this.set = [];
    this.loose = null;
    this.trail = null;
    this.error = 0;
    this.picked = null;
    this.held = null;
    this.ghost = null;
  }

  get shapes() {
    return this.story.shapes;
  }

  choose(tool) {
    this.tool = tool;
    this.clear();
    this.tell("shown");
  }

  /** As they are seen now, with what is being drawn or moved. */
  get seen() {
    if (this.ghost) return this.shapes.map((shape, place) => (place === this.picked.shape ? this.ghost : shape));
    const begun = this.begun;
    return begun ? [...this.shapes, begun] : this.shapes;
  }

  get begun() {
    const loose = this.loose ? [this.loose] : [];
    const points = this.trail ? [...this.set, ...this.trail] : [...this.set, ...loose];
    if (points.length < 2 || this.tool === "text") return null;
    const shape = makeShape(this.tool, points, { error: this.error });
    const isWhole = points.length >= NEEDS[this.tool] && isShape(shape, this.aspect);
    return isWhole ? shape : { ...shape, k: "line" };
  }

  isNear([ax, ay], [bx, by]) {
    return Math.hypot((ax - bx) * this.aspect, ay - by) <= TAP;
  }

  // ---- a pointer, or the crosshair; `error` is how far off it may be, a share of the height

  press(at, { error, reach }) {
    const spot = point(at);
    this.error = Math.max(this.error, error);
    if (this.tool === "move") this.grab(spot, reach);
    else {
      this.from = spot;
      this.isFirst = !this.set.length;
      if (this.tool === "free") this.trail = [spot];
      else if (this.isFirst) this.set = [spot];
      this.loose = spot;
    }
    this.tell("shown");
  }

  /** `isDown` while it is pressed; without, it only shows where the next point would be. */
  go(at, { isDown }) {
    const spot = point(at);
    if (this.held && isDown) this.carry(spot);
    else if (this.tool === "move" || !(isDown || this.set.length)) return;
    else if (this.trail && isDown) this.trail.push(spot);
    this.loose = spot;
    this.tell("shown");
  }

  lift(at) {
    const spot = point(at);
    if (this.tool === "move") this.put(spot);
    else if (this.tool === "free") this.liftStroke(spot);
    else {
      const isTap = this.isNear(this.from, spot);
      if (!(this.isFirst && isTap)) this.set = [...this.set, spot];
      this.loose = null;
      this.close();
    }
    this.tell("shown");
  }

  /** A stroke that was dragged is whole; one that is tapped ends where it is tapped twice. */
  liftStroke(spot) {
    const isTap = this.trail.every((each) => this.isNear(each, this.from));
    const before = this.set;
    const trail = isTap ? [spot] : simplify([...this.trail, spot], this.aspect);
    const isEnd = isTap && before.length > 1 && this.isNear(before.at(-1), spot);
    this.set = isEnd ? before : [...before, ...trail];
    this.trail = null;
    this.loose = null;
    if (isEnd || !isTap) this.finish();
  }

  cancel() {
    if (this.tool === "move") {
      this.held = null;
      this.ghost = null;
    } else this.clear();
    this.tell("shown");
  }

  /** Take back the point that was set last; false if none was. */
  unset() {
    if (!this.set.length) return false;
    this.set = this.set.slice(0, -1);
    this.loose = null;
    this.tell("shown");
    return true;
  }

  close() {
    if (this.set.length < NEEDS[this.tool]) return;
    if (this.tool === "text") this.tell("words");
    else this.finish();
  }

  /** What is begun becomes a shape, if it is one. */
  finish({ words = "" } = {}) {
    if (!this.set.length) return;
    const { tool, set, error } = this;
    this.clear();
    if (set.length < NEEDS[tool]) return this.tell("nothing");
    return this.add(makeShape(tool, set, { words, error }));
  }

  add(shape) {
    if (!isShape(shape, this.aspect)) return this.tell("nothing");
    const full = isFull(this.shapes, shape);
    if (full) return this.tell("full", { limit: full });
    this.keep([...this.shapes, shape], shape);
    if (shape.k === "angle") this.weigh(shape);
  }

  weigh(shape) {
    const [measured, off] = [degrees(shape, this.aspect), spread(shape, this.aspect)];
    if (off > UNSURE) this.tell("unsure", { degrees: measured, spread: off });
  }

  keep(shapes, shape = null) {
    this.story = history.go(this.story, shapes);
    this.tell("changed", { shape });
  }

  // ---- what stands there

  /** Everything that can be picked: each shape as a whole, then its points. */
  get stops() {
    return this.shapes.flatMap(({ k, p }, shape) => {
      const points = k === "free" || k === "text" ? [] : p.map((_, place) => ({ shape, place }));
      return [{ shape, place: -1 }, ...points];
    });
  }

  walk(by) {
    const { stops } = this;
    if (!stops.length) return;
    const { shape, place } = this.picked ?? {};
    const at = stops.findIndex((stop) => stop.shape === shape && stop.place === place);
    const next = at < 0 ? (by > 0 ? 0 : stops.length - 1) : (at + by + stops.length) % stops.length;
    this.picked = stops[next];
    this.tell("shown");
  }

  grab(spot, reach) {
    const { picked, shapes, aspect } = this;
    const place = picked ? grip(spot, shapes[picked.shape], aspect, reach) : -1;
    const shape = place >= 0 ? picked.shape : hit(spot, shapes, aspect, reach);
    this.held = { from: spot, before: picked };
    if (shape >= 0) this.picked = { shape, place, spot };
    else this.held.isElsewhere = true;
  }

  carry(spot) {
    const { held, picked } = this;
    if (held.isElsewhere || !picked) return;
    this.ghost = this.carried(held.from, spot);
  }

  carried([fromX, fromY], [x, y]) {
    const { shape, place } = this.picked;
    const now = moved(this.shapes[shape], [x - fromX, y - fromY], place);
    return now.k === "angle" && place >= 0 ? { ...now, e: Math.max(now.e, this.error) } : now;
  }

  /** Dropped where it was carried; tapped, it is picked; tapped elsewhere, it goes there. */
  put(spot) {
    const { held, picked } = this;
    this.held = null;
    if (!held) return;
    const isTap = this.isNear(held.from, spot);
    if (held.isElsewhere && isTap && picked) {
      const from = picked.place >= 0 ? this.shapes[picked.shape].p[picked.place] : picked.spot;
      this.ghost = this.carried(from ?? this.shapes[picked.shape].p[0], spot);
      this.picked = { ...picked, spot };
    } else if (isTap) this.ghost = null;
    this.settle();
  }

  settle() {
    const { ghost, picked } = this;
    this.ghost = null;
    if (!ghost) return;
    if (!isShape(ghost, this.aspect)) return this.tell("nothing");
    this.keep(this.shapes.map((shape, place) => (place === picked.shape ? ghost : shape)), ghost);
  }

  /** What is picked, by a little; false if nothing is. */
  nudge(by) {
    if (!this.picked) return false;
    this.ghost = this.carried([0, 0], by);
    this.settle();
    this.tell("shown");
    return true;
  }

  /** The picked shape, or the one drawn last; false if there is none. */
  remove() {
    const at = this.picked?.shape ?? this.shapes.length - 1;
    if (at < 0) return false;
    this.clear();
    this.keep(this.shapes.filter((_, place) => place !== at));
    this.tell("shown");
    return true;
  }

  undo() {
    if (this.unset()) return true;
    return this.turn(history.undo(this.story));
  }

  redo() {
    return this.turn(history.redo(this.story));
  }

  turn(story) {
    if (story === this.story) return false;
    this.story = story;
    this.clear();
    this.tell("changed", { shape: null });
    this.tell("shown");
    return true;
  }

  get canUndo() {
    return this.story.past.length > 0 || this.set.length > 0;
  }

  get canRedo() {
    return this.story.future.length > 0;
  }
}
