// Two films in lock-step: one leads, the other shows the frame of the same moment. In time, not
// in frames, since they may have been filmed at different rates.

// Farther off than this the follower is sent there; nearer, it catches up or waits by its speed.
const FAR_S = 0.3;
// It is brought back within so many seconds, and never by more than this share of the speed.
const WITHIN_S = 0.4;
const MOST = 0.3;
// Playing on is not worth while this near to the follower's end.
const END_S = 0.1;

/** How much faster the follower has to play, as a factor, when it is `off` seconds ahead. */
export function correction(off, { rate, close }) {
  if (Math.abs(off) < close) return 1;
  const wanted = 1 - off / WITHIN_S / rate;
  return Math.min(1 + MOST, Math.max(1 - MOST, wanted));
}

/**
 * Both are players with their clocks. Frames `mine` and `that` show the same moment, until
 * `align` says which do. A second of the leader is `ratio` seconds of the follower, where one is
 * in slow motion.
 */
export function keepTogether(lead, follow, { mine, that, ratio = 1 }) {
  const pair = new Pair(lead, follow, { mine, that, ratio });
  pair.listen();
  return pair;
}

class Pair {
  constructor(lead, follow, { mine, that, ratio }) {
    Object.assign(this, { lead, follow, ratio });
    follow.pace = ratio;
    this.close = Math.min(...[lead, follow].map(({ clock }) => clock.smallestGap)) / 4;
    this.seen = null;
    this.heard = new AbortController();
    this.align(mine, that);
  }

  align(mine, that) {
    this.from = this.lead.clock.timeOf(mine);
    this.to = this.follow.clock.timeOf(that);
  }

  listen() {
    const on = (name, act) =>
      this.lead.stage.addEventListener(name, ({ detail }) => act(detail), {
        signal: this.heard.signal,
      });
    on("frame:shown", ({ frame }) => this.shown(frame));
    on("player:state", () => this.stateTold());
    this.stateTold();
    this.bring();
  }

  end() {
    this.heard.abort();
    this.follow.pause();
  }

  /** The follower's time of a leader's. */
  due(seconds) {
    return this.to + (seconds - this.from) * this.ratio;
  }

  /** The follower's frame of the moment at which the leader's frame stands. */
  counterpart(frame) {
    return this.follow.clock.frameAt(this.due(this.lead.clock.timeOf(frame)));
  }

  bring() {
    this.follow.seek(this.counterpart(this.lead.target));
  }

  stateTold() {
    if (this.follow.rate !== this.lead.rate) this.follow.setRate(this.lead.rate);
    if (this.lead.isPlaying) this.keepUp();
    else if (this.follow.isPlaying) this.follow.pause();
  }

  shown(frame) {
    if (!this.lead.isPlaying) {
      this.bring();
      this.seen = null;
      return;
    }
    // Round a loop it jumps, and nothing is left to catch up with.
    const hasJumped = this.seen !== null && frame < this.seen;
    this.seen = frame;
    this.keepUp(hasJumped);
  }

  keepUp(hasJumped = false) {
    const { lead, follow } = this;
    const due = this.due(lead.video.currentTime);
    const frame = follow.clock.frameAt(due);
    const first = follow.clock.timeOf(follow.first);
    if (due < first || follow.clock.between(frame, follow.last) < END_S) {
      this.wait(frame);
      return;
    }
    const off = follow.video.currentTime - due;
    if (!follow.isPlaying || hasJumped || Math.abs(off) > FAR_S) this.resume(frame);
    else if (!follow.running) follow.lean(correction(off, { rate: lead.rate * this.ratio, close: this.close }));
  }

  /** The leader is where the follower has no film: its first or last frame stands. */
  wait(frame) {
    if (this.follow.isPlaying) this.follow.pause();
    if (this.follow.target !== this.follow.clamp(frame)) this.follow.seek(frame);
  }

  resume(frame) {
    if (this.follow.running) return;
    this.follow.seek(frame);
    if (!this.follow.isPlaying) this.follow.play();
  }
}
