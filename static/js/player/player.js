// Exact playback. A frame is asked for by its number and named only once the browser has
// presented it; what stands on the screen and what is written beside it never differ.

import { makeClock } from "./clock.js";
import { addPlate, addProblem, twoPaints } from "./plates.js";

export const RATES = [0.125, 0.25, 0.5, 1, 2];
// What browsers can play at all.
const [SLOWEST, FASTEST] = [0.0625, 16];

// A presented frame is told of a few milliseconds after `seeked`, or not at all if it stood there.
const GRACE_MS = 120;
// A seek that takes longer hides the frame that is no longer meant.
const PLATE_AFTER_MS = 600;
// Playback that is this near to its end would run past it before the next frame is told of.
const NEAR_END_S = 0.02;

/**
 * Bring a stage to life. The stage is asked by events (`seek:request`, `step:request`,
 * `play:toggle`, `shuttle:request`, `rate:request`, `loop:request`) and answers by events
 * (`frame:shown`, `player:state`, `player:problem`).
 */
export function createPlayer(stage) {
  const player = new Player(stage);
  player.listen();
  player.load();
  return player;
}

class Player {
  constructor(stage) {
    this.stage = stage;
    this.video = stage.querySelector("video");
    this.box = stage.querySelector(".picture");
    this.box?.style.setProperty("--shape", stage.dataset.width / stage.dataset.height);
    this.first = Number(stage.dataset.first);
    this.last = Number(stage.dataset.last);
    this.clock = null;
    /** Resolves with the clock once the times are here, before the first frame is. */
    this.ready = new Promise((resolve) => (this.gotClock = resolve));
    this.rate = 1;
    /** How much faster it plays than the speed says, beside a film of another pace. */
    this.pace = 1;
    this.loop = null;
    /** While it goes backward: from which frame, and since when. Browsers only play forward. */
    this.back = null;
    /** What the browser presented last; null until it did. */
    this.frame = null;
    /** The frame that the video was last sent to, and the one to send it to next. */
    this.sentTo = null;
    this.wanted = Number(stage.dataset.frame || this.first);
    this.running = null;
    this.isLoaded = false;
    this.isBroken = false;
    /** Whether a frame was named since the video was last sent away, and who waits for it. */
    this.isNamed = false;
    this.onNamed = null;
    this.plate = addPlate(stage);
  }

  get isPlaying() {
    return !this.video.paused && !this.video.ended;
  }

  get isMoving() {
    return this.isPlaying || this.back !== null;
  }

  /** The frame that will stand there when all that was asked for has happened. */
  get target() {
    return this.wanted ?? (this.running ? this.sentTo : this.frame) ?? this.first;
  }

  listen() {
    const on = (name, act) => this.stage.addEventListener(name, (event) => act(event.detail ?? {}));
    on("seek:request", ({ frame }) => this.go(frame));
    on("step:request", ({ by }) => this.step(by));
    on("play:toggle", () => this.toggle());
    on("shuttle:request", ({ direction }) => this.shuttle(direction));
    on("rate:request", ({ rate, by }) => this.setRate(rate ?? this.rateBy(by)));
    on("loop:request", ({ first, last }) => this.setLoop(first, last));
    this.video.addEventListener("error", () => this.fail("film"));
    this.video.addEventListener("play", () => this.tellState());
    this.video.addEventListener("pause", () => this.settle());
    this.video.addEventListener("ended", () => this.atEnd());
  }

  async load() {
    this.tellState();
    try {
      const answer = await fetch(this.stage.dataset.times);
      if (!answer.ok) throw new Error(`${answer.status} for the times`);
      this.clock = makeClock(await answer.json());
    } catch {
      this.fail("times");
      return;
    }
    this.first = this.clock.clamp(this.first);
    this.last = this.clock.clamp(this.last);
    this.gotClock(this.clock);
    this.tellState();
    this.watch();
    const loaded = new Promise((resolve) => {
      this.video.addEventListener("loadeddata", resolve, { once: true });
    });
    this.video.src = this.stage.dataset.film;
    await loaded;
    this.isLoaded = true;
    this.tellState();
    this.seek(this.target);
  }

  fail(what) {
    if (this.isBroken) return;
    this.isBroken = true;
    this.plate.hidden = true;
    addProblem(this.stage);
    this.tell("player:problem", { what });
    this.tellState();
  }

  // ---- asked for

  seek(frame) {
    if (!Number.isFinite(frame)) throw new RangeError(`${frame} is not a frame's number`);
    this.wanted = this.clamp(frame);
    this.run();
  }

  /** Somebody asks for a frame: what goes backward by itself ends. */
  go(frame) {
    this.endBack();
    this.seek(frame);
  }

  step(by) {
    if (this.isMoving) this.pause();
    this.seek(this.target + by);
  }

  toggle() {
    if (this.isMoving) this.pause();
    else this.play();
  }

  /** 1 goes on, -1 goes back, each again is faster; 0 stops. */
  shuttle(direction) {
    const isGoing = direction > 0 ? this.isPlaying : this.back !== null;
    if (!direction) this.pause();
    else if (isGoing) this.setRate(this.rateBy(1));
    else if (direction > 0) this.play();
    else this.playBack();
  }

  async play() {
    if (!this.isLoaded || this.isBroken) return;
    this.endBack();
    if (this.target >= this.stop) this.wanted = this.start;
    await this.run();
    this.lean(1);
    try {
      await this.video.play();
    } catch (error) {
      // Pausing before the first frame has come is no fault.
      if (error.name !== "AbortError") throw error;
    }
  }

  pause() {
    this.endBack();
    this.video.pause();
  }

  /** As many frames as there is time for; each is named once it is seen. */
  playBack() {
    if (!this.isLoaded || this.isBroken) return;
    this.video.pause();
    const begin = this.target <= this.start ? this.stop : this.target;
    this.back = { frame: begin, since: performance.now() };
    const next = (now) => {
      if (!this.back || this.isBroken) return;
      const passed = Math.max(0, (now - this.back.since) / 1000) * this.rate;
      const frame = this.clock.frameDuring(this.clock.timeOf(this.back.frame) - passed);
      this.seek(Math.max(frame, this.start));
      if (frame <= this.start && this.loop) this.back = { frame: this.stop, since: now };
      else if (frame <= this.start) this.endBack();
      requestAnimationFrame(next);
    };
    this.tellState();
    requestAnimationFrame(next);
  }

  endBack() {
    if (!this.back) return;
    this.back = null;
    this.tellState();
  }

  setRate(rate) {
    if (!RATES.includes(rate)) throw new RangeError(`${rate} is not one of ${RATES.join(", ")}`);
    this.rate = rate;
    this.lean(1);
    if (this.back) this.back = { frame: this.target, since: performance.now() };
    this.tellState();
  }

  /** A little faster or slower than the speed says, to catch up with another film. */
  lean(factor) {
    const speed = Math.min(FASTEST, Math.max(SLOWEST, this.rate * this.pace * factor));
    if (Math.abs(this.video.playbackRate - speed) > speed / 200) this.video.playbackRate = speed;
  }

  clamp(frame) {
    return Math.min(this.last, Math.max(this.first, Math.round(frame)));
  }

  /** The speed `by` places faster or slower; at the end of the list it stays. */
  rateBy(by) {
    const place = RATES.indexOf(this.rate) + by;
    return RATES[Math.min(RATES.length - 1, Math.max(0, place))];
  }

  /** Play round and round between two frames; without them no more. */
  setLoop(first, last) {
    this.loop = first === undefined ? null : { first: this.clamp(first), last: this.clamp(last) };
  }

  get start() {
    return this.loop?.first ?? this.first;
  }

  get stop() {
    return this.loop?.last ?? this.last;
  }

  // ---- seeking: one at a time, then the latest that was asked for

  /** Resolves when the video stands where it was last asked to stand. */
  async run() {
    if (!this.isLoaded || this.isBroken) return;
    if (!this.running && this.wanted !== null) this.running = this.work();
    await this.running;
  }

  async work() {
    while (this.wanted !== null && !this.isBroken) {
      const frame = this.wanted;
      this.wanted = null;
      const plate = setTimeout(() => this.showPlate(), PLATE_AFTER_MS);
      await this.bring(frame);
      clearTimeout(plate);
    }
    this.running = null;
    if (!this.isBroken) this.plate.hidden = true;
  }

  async bring(frame) {
    // A frame that stands there already is not presented again.
    const isThere = frame === this.frame && (this.sentTo ?? frame) === frame;
    if (isThere && !this.isPlaying) {
      this.sentTo = frame;
      this.present(frame);
      return;
    }
    const before = this.frame;
    for (const share of [0.5, 0.25]) {
      const named = await this.send(frame, share);
      if (this.isBroken || this.isPlaying || named === frame) return;
      if (named === null && before === frame) break;
      if (this.wanted !== null) return;
    }
    if (!this.isNamed) {
      // No word of a new frame, twice: it is on the screen once two frames were painted.
      await twoPaints();
      if (!this.isNamed && !this.isBroken) this.present(frame);
    }
  }

  /** Seek once. Resolves with the frame that the browser named since, or null if none. */
  async send(frame, share) {
    this.isNamed = false;
    this.sentTo = frame;
    const arrived = new Promise((resolve) => {
      this.video.addEventListener("seeked", resolve, { once: true });
      this.video.addEventListener("error", resolve, { once: true });
    });
    this.video.currentTime = this.clock.aim(frame, share);
    await arrived;
    if (!this.hasFrameCallback) {
      await twoPaints();
      if (!this.isPlaying && !this.isBroken) this.present(frame);
    } else if (!(this.isNamed && this.frame === frame)) {
      await this.named(frame);
    }
    return this.isNamed ? this.frame : null;
  }

  named(frame) {
    return new Promise((resolve) => {
      const done = () => {
        this.onNamed = null;
        clearTimeout(late);
        resolve();
      };
      const late = setTimeout(done, GRACE_MS);
      this.onNamed = (named) => named === frame && done();
    });
  }

  /** After a pause the clock may stand a little further than the picture: bring them together. */
  settle() {
    this.tellState();
    if (!this.running && !this.back && this.frame !== null && !this.video.ended) this.seek(this.frame);
  }

  // ---- what the browser presents

  get hasFrameCallback() {
    return "requestVideoFrameCallback" in this.video;
  }

  watch() {
    if (this.hasFrameCallback) {
      const next = (_now, told) => {
        this.video.requestVideoFrameCallback(next);
        this.present(this.clock.frameAt(told.mediaTime));
      };
      this.video.requestVideoFrameCallback(next);
    } else {
      const next = () => {
        requestAnimationFrame(next);
        if (this.isPlaying) this.present(this.clock.frameDuring(this.video.currentTime));
      };
      requestAnimationFrame(next);
    }
  }

  present(frame) {
    this.frame = frame;
    this.isNamed = true;
    this.onNamed?.(frame);
    // What a film shows while it loads was not asked for.
    if (!this.isLoaded) return;
    if (frame >= this.first && frame <= this.last) {
      if (frame === this.target) this.plate.hidden = true;
      this.stage.dataset.shown = frame;
      this.tell("frame:shown", { frame });
    }
    if (this.isPlaying && !this.running) {
      const left = this.clock.between(frame, this.stop) / this.rate;
      if (frame >= this.stop || left < NEAR_END_S) this.atEnd();
    }
  }

  atEnd() {
    if (this.loop) {
      this.seek(this.loop.first);
      if (!this.isPlaying) this.play();
      return;
    }
    this.wanted = this.last;
    this.video.pause();
    this.run();
  }

  // ---- what the person is told

  tell(name, detail) {
    this.stage.dispatchEvent(new CustomEvent(name, { detail, bubbles: true }));
  }

  tellState() {
    const ready = this.isLoaded && !this.isBroken;
    const { isMoving: playing, rate } = this;
    this.tell("player:state", { playing, backward: this.back !== null, rate, ready });
  }

  showPlate() {
    const position = this.target - this.first;
    this.plate.textContent = (this.stage.dataset.waiting ?? "").replace("{frame}", position);
    this.plate.hidden = false;
  }

  /**
   * Where the picture lies in the stage now, in pixels of the page, drawn near or not, and how
   * many pixels of its own it has. What is laid into `.picture` lies right without this.
   */
  picture() {
    const [stage, box] = [this.stage, this.box ?? this.video].map((one) => one.getBoundingClientRect());
    return {
      left: box.left - stage.left,
      top: box.top - stage.top,
      width: box.width,
      height: box.height,
      pixels: { width: this.video.videoWidth, height: this.video.videoHeight },
    };
  }
}
