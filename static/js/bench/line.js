// What the bench says below the heading of the slip: what became of a request, and that the line is
// lost.

export function createLine(element, { phrases, send }) {
  return new Line(element, { phrases, send });
}

class Line {
  constructor(element, { phrases, send }) {
    Object.assign(this, { element, phrases, send });
  }

  part(name) {
    return this.element.querySelector(`[data-${name}]`);
  }

  /** One line under the heading of the slip's place, with a button if there is something to do. */
  tell(words, { words: label, act } = {}) {
    const line = this.part("told");
    line.textContent = words;
    if (!act) return;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "may small bare";
    button.textContent = label;
    button.addEventListener("click", () => {
      line.textContent = "";
      act();
    });
    line.append(" ", button);
  }

  lost(words) {
    const line = this.part("lost");
    line.hidden = !words;
    line.querySelector("span").textContent = words;
    if (words) this.part("kept").textContent = this.phrases.notKept;
  }

  /** The answer, or null after saying why there is none. */
  async request(url, body) {
    let reply = { status: 0 };
    try {
      reply = await this.send(url, body);
    } catch {
      this.lost(this.phrases.notDone);
      return null;
    }
    if (reply.status === 200 || reply.status === 201) return reply.answer;
    const { errors = {}, problem } = reply.answer ?? {};
    this.tell(Object.values(errors).join(" ") || problem || this.phrases.signedOut);
    return null;
  }
}
