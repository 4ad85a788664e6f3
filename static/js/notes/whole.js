// The pennants below a whole clip lead to their frames. Without the script the clip plays as a
// browser plays any film, and the times stand beside it.

import { makeClock } from "../player/clock.js";

for (const part of document.querySelectorAll(".whole")) furnish(part);

async function clockOf(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`no times: ${answer.status}`);
  return makeClock(await answer.json());
}

function furnish(part) {
  const video = part.querySelector("video");
  let clock = null;

  const show = async (frame) => {
    clock ??= await clockOf(part.dataset.times);
    if (video.readyState < HTMLMediaElement.HAVE_METADATA) {
      video.preload = "auto";
      video.load();
      await new Promise((done) => video.addEventListener("loadedmetadata", done, { once: true }));
    }
    video.pause();
    video.currentTime = clock.aim(frame);
    video.scrollIntoView({ block: "nearest" });
  };

  for (const row of part.querySelectorAll("[data-frame]")) {
    const words = row.querySelector(".words");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "plain";
    button.append(...words.childNodes);
    words.replaceWith(button);
    button.addEventListener("click", () => show(Number(row.dataset.frame)).catch(() => {}));
  }
}
