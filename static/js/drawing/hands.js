// Mouse, finger, pen and keys on the drawing board: where they are on the frame, and what of the
// pencil they move. One pointer draws at a time; once a pen was seen, a palm does not.

// How far off a hand may be, and what it still meets, in pixels of the screen.
const OFF = { mouse: 3, pen: 3, touch: 6 };
const REACH = { mouse: 10, pen: 12, touch: 22 };
// Of the crosshair, as shares of the frame's height.
const STEPS = { plain: 0.01, Shift: 0.05, Ctrl: 0.002 };
// Help and drawing near are the page's, here too.
const PASSED = ["?", "+", "=", "-", "0"];
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * `board` lies over the frame. `crosshair` has `at`, shown while keys move it. `does` answers the
 * keys that are no movement: `{tool(number), leave(), undo(), redo(), cross()}`.
 */
export function createHands(board, { pencil, aspect, does }) {
  const hands = new Hands(board, pencil, aspect, does);
  hands.listen();
  return hands;
}

class Hands {
  constructor(board, pencil, aspect, does) {
    Object.assign(this, { board, pencil, aspect, does });
    this.pointer = null;
    this.hasPen = false;
    this.at = [0.5, 0.5];
    this.isOnKeys = false;
  }

  listen() {
    const on = (name, act) => this.board.addEventListener(name, (event) => act(event));
    on("pointerdown", (event) => this.press(event));
    on("pointermove", (event) => this.go(event));
    on("pointerup", (event) => this.lift(event));
    on("pointercancel", (event) => this.cancel(event));
    on("keydown", (event) => this.key(event));
    on("contextmenu", (event) => event.preventDefault());
  }

  // ---- pointers

  place({ clientX, clientY }) {
    const box = this.board.getBoundingClientRect();
    return [(clientX - box.left) / box.width, (clientY - box.top) / box.height];
  }

  shareOf(pixels) {
    return pixels / this.board.getBoundingClientRect().height;
  }

  how(kind) {
    const known = kind in OFF ? kind : "mouse";
    return { error: this.shareOf(OFF[known]), reach: this.shareOf(REACH[known]) };
  }

  press(event) {
    // What is drawn here is not dragged near as well.
    event.stopPropagation();
    this.hasPen ||= event.pointerType === "pen";
    const isPalm = this.hasPen && event.pointerType === "touch";
    if (this.pointer !== null || event.button > 0 || isPalm) return;
    event.preventDefault();
    this.board.focus({ preventScroll: true });
    this.pointer = event.pointerId;
    this.board.setPointerCapture(event.pointerId);
    this.isOnKeys = false;
    this.at = this.place(event);
    this.pencil.press(this.at, this.how(event.pointerType));
  }

  go(event) {
    event.stopPropagation();
    if (this.pointer !== null && event.pointerId !== this.pointer) return;
    if (this.pointer === null && event.pointerType !== "mouse") return;
    const isDown = this.pointer !== null;
    this.isOnKeys = false;
    // A quick stroke tells of several places at once.
    const all = isDown ? (event.getCoalescedEvents?.() ?? []) : [];
    for (const each of all.length ? all : [event]) this.pencil.go(this.place(each), { isDown });
  }

  lift(event) {
    event.stopPropagation();
    if (event.pointerId !== this.pointer) return;
    this.pointer = null;
    this.pencil.lift(this.place(event));
  }

  cancel(event) {
    event.stopPropagation();
    if (event.pointerId !== this.pointer) return;
    this.pointer = null;
    this.pencil.cancel();
  }

  // ---- keys; while the board has the focus they are its own, but for the page's and the browser's

  key(event) {
    const { key } = event;
    const isCtrl = event.ctrlKey || event.metaKey;
    if (event.altKey || key === "Tab" || PASSED.includes(key)) return;
    const act = ARROWS[key] ? () => this.move(event) : this.command(key.toLowerCase(), isCtrl, event);
    if (act) {
      event.preventDefault();
      act();
    }
    if (act || (!isCtrl && key.length === 1)) event.stopPropagation();
  }

  command(key, isCtrl, { shiftKey }) {
    if (isCtrl) {
      if (key === "z") return shiftKey ? this.does.redo : this.does.undo;
      return key === "y" ? this.does.redo : null;
    }
    if (/^[1-7]$/.test(key)) return () => this.does.tool(Number(key));
    const own = {
      enter: () => this.set(shiftKey),
      " ": () => this.set(shiftKey),
      escape: () => (this.pencil.set.length ? this.pencil.cancel() : this.does.leave()),
      delete: () => this.pencil.remove(),
      backspace: () => this.pencil.unset() || this.pencil.remove(),
      ",": () => this.walk(-1),
      ".": () => this.walk(1),
    };
    return own[key] ?? null;
  }

  move({ key, shiftKey, ctrlKey, metaKey }) {
    const step = STEPS[ctrlKey || metaKey ? "Ctrl" : shiftKey ? "Shift" : "plain"];
    const [right, down] = ARROWS[key];
    const by = [(right * step) / this.aspect, down * step];
    if (this.pencil.tool === "move" && this.pencil.nudge(by)) return;
    const within = (share) => Math.min(1, Math.max(0, share));
    this.at = [within(this.at[0] + by[0]), within(this.at[1] + by[1])];
    this.cross();
  }

  cross() {
    this.isOnKeys = true;
    this.pencil.go(this.at, { isDown: false });
    this.does.cross();
  }

  /** A tap where the crosshair is; with Shift it ends a stroke. */
  set(isEnd) {
    const { pencil, at } = this;
    if (isEnd) {
      pencil.finish();
      return;
    }
    this.isOnKeys = true;
    pencil.press(at, this.how("mouse"));
    pencil.lift(at);
    this.does.cross();
  }

  walk(by) {
    if (this.pencil.tool === "move") this.pencil.walk(by);
  }
}
