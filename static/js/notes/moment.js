// The moving picture on a notes page: a slow, silent loop around a moment, and steps of one
// frame. Without it the page has its still and all its words.

import { makeClock } from "../player/clock.js";

const RATE = 0.25;
const BEFORE = 0.6; // seconds of film on each side of the moment
const HOLD = 1200; // ms for which the loop rests on a frame that somebody drew on
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const template = document.querySelector("#player");

for (const still of document.querySelectorAll("[data-moment]")) furnish(still);

function furnish(still) {
  still.append(template.content.cloneNode(true));
  const part = (name) => still.querySelector(`[data-do="${name}"]`);
  let film = null;

  /** What stands on the button and in the line above it; tests and styles read it too. */
  const say = (state) => {
    still.dataset.state = state;
    for (const words of still.querySelectorAll("[data-when]")) {
      const isFresh = state === "waiting" || state === "failed" || state === "coming";
      words.hidden = words.dataset.when !== state && !(isFresh && words.dataset.when === "still");
    }
    still.querySelector(".steps").hidden = !["playing", "paused", "stepping"].includes(state);
  };

  const open = async () => {
    if (!still.dataset.film) return say("waiting");
    say("coming");
    try {
      film = await openFilm(still);
    } catch {
      return say("failed");
    }
    return go();
  };

  const go = () => {
    if (calm.matches) return say("stepping");
    film.play();
    return say("playing");
  };

  const toggles = {
    playing: () => {
      film.pause();
      say("paused");
    },
    paused: go,
    stepping: () => {
      film.remove();
      say("still");
    },
    still: open,
    waiting: open,
    failed: open,
    coming: () => {},
  };

  const step = (by) => {
    if (still.dataset.state === "playing") say("paused");
    film.step(by);
  };

  part("toggle").addEventListener("click", () => toggles[still.dataset.state]());
  part("back").addEventListener("click", () => step(-1));
  part("on").addEventListener("click", () => step(1));
  say("still");
}

/** Lay the film over the still once it shows the moment's own frame. */
async function openFilm(still) {
  const { film, times, frame, until, first, last, drawn } = still.dataset;
  const answer = await fetch(times);
  if (!answer.ok) throw new Error(`no times: ${answer.status}`);
  const clock = makeClock(await answer.json());
  const within = (wanted) => Math.min(Number(last), Math.max(Number(first), wanted));
  const from = within(clock.frameDuring(clock.timeOf(Number(frame)) - BEFORE));
  const to = within(clock.frameDuring(clock.timeOf(Number(until)) + BEFORE));

  const video = makeVideo(film, still.querySelector("img").alt);
  let aimed = Number(frame);
  let shown = aimed;

  const show = (wanted) => {
    aimed = wanted;
    video.currentTime = clock.aim(wanted);
  };
  // The picture below the film is the moment's own frame with the drawing on it.
  let rest = 0;
  const release = () => {
    clearTimeout(rest);
    video.classList.remove("under");
  };
  const hold = () => {
    video.pause();
    video.classList.add("under");
    rest = setTimeout(() => {
      release();
      video.play();
    }, HOLD);
  };
  const tell = (now) => {
    const before = shown;
    shown = now;
    still.dataset.shown = now;
    // The still is this very frame, with what the coach drew on it.
    still.toggleAttribute("data-there", now === Number(frame));
    still.dispatchEvent(new CustomEvent("frame:shown", { detail: { frame: now } }));
    if (video.paused) return;
    if (drawn !== undefined && before < Number(frame) && now >= Number(frame)) hold();
    else if (now >= to || now < from) show(from);
  };
  const watch = (_now, { mediaTime }) => {
    tell(clock.frameAt(mediaTime));
    video.requestVideoFrameCallback(watch);
  };
  // Sent to the frame that stands there already, the browser presents nothing new.
  video.addEventListener("seeked", () => tell(clock.frameDuring(video.currentTime)));
  video.addEventListener("ended", () => {
    show(from);
    video.play();
  });

  /** Stop on the frame that was told last: by now the next one may have come. */
  const pause = () => {
    release();
    video.pause();
    show(shown);
  };

  await event(video, "loadedmetadata");
  show(aimed);
  await event(video, "seeked");
  if (video.requestVideoFrameCallback) video.requestVideoFrameCallback(watch);
  else video.addEventListener("timeupdate", () => tell(clock.frameDuring(video.currentTime)));
  still.querySelector("img").after(video);

  return {
    play: () => {
      video.playbackRate = RATE;
      video.play();
    },
    pause,
    step: (by) => {
      release();
      if (!video.paused) pause();
      show(within(aimed + by));
    },
    remove: () => {
      release();
      video.remove();
      video.removeAttribute("src");
      video.load();
    },
  };
}

function makeVideo(address, description) {
  const video = document.createElement("video");
  video.muted = true;
  video.playsInline = true;
  video.disablePictureInPicture = true;
  video.preload = "auto";
  video.setAttribute("aria-label", description);
  video.src = address;
  return video;
}

function event(video, name) {
  return new Promise((done, fail) => {
    video.addEventListener(name, done, { once: true });
    video.addEventListener("error", () => fail(new Error(`${name}: the film failed`)), { once: true });
  });
}
