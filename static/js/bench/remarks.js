// The comments of the clip as a list of links, as pennants, and as counts.

/** `choose(code)` when a comment of the list is followed. */
export function createRemarks(element, { phrases, label, choose }) {
  return new Remarks(element, { phrases, label, choose });
}

class Remarks {
  constructor(element, { phrases, label, choose }) {
    Object.assign(this, { element, phrases, label });
    this.list = element.querySelector("[data-list]");
    this.empty = element.querySelector("[data-empty]");
    this.item = document.getElementById("bench-remark").content.firstElementChild;
    this.signs = document.getElementById("bench-signs").content;
    this.comments = [];
    this.elsewhere = null;
    this.list.addEventListener("click", (event) => {
      const link = event.target.closest("a[data-code]");
      if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      choose(link.dataset.code);
    });
  }

  sign(verdict) {
    return this.signs.querySelector(`[data-sign="${verdict}"]`).firstElementChild.cloneNode(true);
  }

  order() {
    return this.comments;
  }

  /** `writing` is a comment that is not kept yet; it hangs on the rope and nowhere else. */
  show(comments, open, writing = null) {
    this.writing = writing;
    this.comments = comments.toSorted((one, other) => one.frame - other.frame);
    this.list.replaceChildren(...this.comments.map((comment) => this.row(comment, open)));
    this.empty.hidden = this.comments.length > 0;
    this.count();
  }

  row(comment, open) {
    const row = this.item.cloneNode(true);
    const link = row.querySelector("a");
    link.href = `?f=${comment.frame}`;
    link.dataset.code = comment.code;
    if (comment.code === open) link.setAttribute("aria-current", "true");
    row.querySelector(".mark").replaceWith(this.sign(comment.verdict));
    row.querySelector(".unseen").textContent = `${this.phrases[comment.verdict]}: `;
    row.querySelector("b").textContent = comment.name || this.phrases.noTag;
    row.querySelector(".note").textContent = this.facts(comment).join(" · ");
    row.querySelector(".words").textContent = comment.words;
    return row;
  }

  facts(comment) {
    const from = this.label(comment.frame);
    const to = comment.lastFrame === null ? "" : this.label(comment.lastFrame);
    const moment = to ? this.phrases.from.replace("{time}", from).replace("{end}", to) : from;
    const facts = [comment.focus && this.phrases.focus, comment.drawing && this.phrases.withDrawing];
    return [moment, this.byWhom(comment), ...facts].filter(Boolean);
  }

  byWhom({ isOwn, author }) {
    return isOwn ? "" : this.phrases.draftBy.replace("{name}", author);
  }

  pennants() {
    const oldestFirst = this.comments.toSorted((one, other) => one.made - other.made);
    if (this.writing) oldestFirst.push(this.writing);
    return oldestFirst.map((comment) => ({
      code: comment.code,
      frame: comment.frame,
      last_frame: comment.lastFrame,
      sign: comment.verdict,
      said: this.phrases[comment.verdict],
      words: comment.name || this.phrases.noTag,
      note: comment === this.writing ? this.phrases.beingWritten : this.byWhom(comment),
      focus: comment.focus,
      draft: !comment.isOwn,
    }));
  }

  /** The balance counts the swimmers' other clips too, as the server did. */
  count() {
    const here = (verdict) => this.comments.filter((one) => one.verdict === verdict).length;
    const places = [...this.element.querySelectorAll("[data-count]")];
    this.elsewhere ??= new Map(
      places.map((place) => [place.dataset.count, Number(place.textContent) - here(place.dataset.count)]),
    );
    for (const place of places) {
      const verdict = place.dataset.count;
      place.textContent = this.elsewhere.get(verdict) + here(verdict);
    }
  }

  /** The flag of whoever is alone here hangs as a draft from then on. */
  hangFlag() {
    const flags = this.element.querySelectorAll(".cast [aria-current] .small-flag");
    if (flags.length === 1) flags[0].classList.replace("none", "draft");
  }

  /** With its first comment a review begins, and can be checked, or handed over. */
  reveal(comment) {
    this.hangFlag();
    comment.swimmers.forEach((code, place) => {
      const link = this.element.querySelector(`[data-publish="${code}"]`);
      const form = this.element.querySelector(`[data-hand-over="${code}"]`);
      if (link) link.href = comment.publish[place];
      if (form) form.action = comment.handOver[place];
      for (const way of [link, form]) if (way) way.hidden = false;
    });
  }
}
