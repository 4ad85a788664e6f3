// Two people wrote on one comment: both wordings side by side, and three answers.

import { joined as bothDrawn } from "../drawing/shapes.js";
import { hangDrawing } from "../drawing/svg.js";

/**
 * Resolves with the fields that shall stand: mine, mine with both wordings, or null for theirs.
 * `mine` is a function, since whoever is asked may go on writing before answering.
 */
export function askHands(element, { mine, theirs, isDropped, phrases, nameOf }) {
  const say = (name, words) => (element.querySelector(`[data-${name}]`).textContent = words);
  say("yours", summary(mine(), { phrases, nameOf }));
  say("theirs", isDropped ? phrases.theirsDropped : summary(theirs, { phrases, nameOf }));
  hangDrawing(element.querySelector("[data-yours]"), mine().drawing);
  hangDrawing(element.querySelector("[data-theirs]"), isDropped ? null : theirs.drawing);
  element.querySelector("[data-hands=both]").hidden = isDropped;
  element.hidden = false;
  // Whoever is in the middle of a word goes on writing: the next letters would act as keys.
  if (!isWriting()) element.querySelector("h3").focus({ preventScroll: true });
  element.scrollIntoView({ block: "nearest" });
  return new Promise((resolve) => {
    const answer = (event) => {
      const choice = event.target.closest("[data-hands]")?.dataset.hands;
      if (!choice) return;
      element.removeEventListener("click", answer);
      element.hidden = true;
      resolve(choose(choice, mine(), theirs));
    };
    element.addEventListener("click", answer);
  });
}

const isWriting = () => document.activeElement?.matches("textarea, input[type=text]") ?? false;

/** Pure: what stands after the choice. */
export function choose(choice, mine, theirs) {
  if (choice === "theirs") return null;
  if (choice === "mine") return mine;
  const both = (name) => joined(theirs[name] ?? "", mine[name] ?? "");
  const drawing = bothDrawn(theirs.drawing ?? null, mine.drawing ?? null);
  return { ...mine, words: both("words"), staff_note: both("staff_note"), drawing };
}

function joined(first, second) {
  const both = [first, second].map((words) => words.trim()).filter(Boolean);
  return [...new Set(both)].join("\n\n");
}

function summary({ verdict, tag, words, cue, dose, staff_note: note }, { phrases, nameOf }) {
  const heading = [phrases[verdict], tag && nameOf(tag)].filter(Boolean).join(" · ");
  return [heading, words, cue, dose, note].filter(Boolean).join("\n");
}
