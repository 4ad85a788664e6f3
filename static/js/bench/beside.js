// The last clip of the same stroke and view beside the one on the bench, both in lock-step.

import { createNearing } from "../player/nearing.js";
import { createPlayer } from "../player/player.js";
import { keepTogether } from "../player/together.js";

/**
 * Asks for what comes after the film at the data-beside of `element`, the place of the film. The
 * other clip is brought in when the button [data-do=beside] is pressed, open items are shown in
 * [data-open-items], and the filmstrip is told to `stripped`.
 */
export function createBeside(element, { player, stripped }) {
  const beside = new Beside(element, player, stripped);
  beside.load();
  return beside;
}

class Beside {
  constructor(element, player, stripped) {
    Object.assign(this, { element, player, stripped });
    this.opener = document.querySelector("[data-do=beside]");
    this.part = null;
    this.pair = null;
  }

  get isOpen() {
    return this.pair !== null;
  }

  async load() {
    await this.player.ready;
    const reply = await fetch(this.element.dataset.beside).catch(() => null);
    const { other, items, strip } = reply?.ok ? await reply.json() : {};
    if (items) document.querySelector("[data-open-items]").append(parsed(items));
    if (strip) this.stripped(strip);
    if (!other) return;
    this.part = parsed(other).querySelector(".other");
    this.opener.textContent = this.opener.dataset.said.replace("{day}", this.part.dataset.day);
    this.opener.hidden = false;
    this.opener.addEventListener("click", () => this.toggle());
  }

  /** For bindKeys. */
  commands() {
    const alone = (by) => () => this.isOpen && this.moveAlone(by);
    return { b: () => this.toggle(), "<": alone(-1), ">": alone(1) };
  }

  async toggle() {
    if (!this.part) return;
    this.element.classList.toggle("two");
    const isTwo = this.element.classList.contains("two");
    this.opener.setAttribute("aria-pressed", isTwo);
    if (!isTwo) {
      this.pair?.end();
      this.pair = null;
      this.part.remove();
      return;
    }
    this.element.append(this.part);
    this.other ??= this.wake();
    await Promise.all([this.player.ready, this.other.ready]);
    if (this.part.isConnected && !this.pair) this.lay();
  }

  /** Once; a film that was taken out and brought in again goes on. */
  wake() {
    const stage = this.part.querySelector(".stage");
    const other = createPlayer(stage);
    createNearing(stage);
    for (const button of this.part.querySelectorAll("[data-alone]")) {
      button.addEventListener("click", () => this.moveAlone(Number(button.dataset.alone)));
    }
    const slider = this.part.querySelector("[type=range]");
    slider.addEventListener("input", () => this.bringAlone(Number(slider.value)));
    stage.addEventListener("frame:shown", ({ detail }) => {
      // While it is on its way to another frame the slider already stands there.
      if (other.target === detail.frame) slider.value = detail.frame;
      slider.setAttribute("aria-valuetext", other.clock.label(detail.frame, other.first));
    });
    return other;
  }

  lay() {
    const { mine = this.player.first, that = this.other.first } = this.part.dataset;
    this.at ??= { mine: Number(mine), that: Number(that) };
    const ratio = Number(this.part.dataset.ratio);
    this.pair = keepTogether(this.player, this.other, { ...this.at, ratio });
  }

  moveAlone(by) {
    this.bringAlone(this.other.target + by);
  }

  /** From here on these two frames are the same moment. */
  bringAlone(frame) {
    this.player.pause();
    this.other.seek(frame);
    this.at = { mine: this.player.target, that: this.other.target };
    this.pair?.align(this.at.mine, this.at.that);
  }
}

/** Of the server's own making. */
function parsed(part) {
  const page = document.createElement("template");
  page.innerHTML = part;
  return page.content;
}
