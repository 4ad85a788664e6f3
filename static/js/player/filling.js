// The film over the whole screen, or the whole window where browsers know no more. Whoever goes on
// to write leaves it: nothing else is seen there.

/** Hears `screen:toggle` on the stage, which has data-whole meanwhile. */
export function createFilling(stage) {
  const isWhole = () => stage.hasAttribute("data-whole");
  // Whether the browser has filled the screen, too; it tells late that it does no more.
  let hasScreen = false;
  const leave = () => {
    hasScreen = false;
    stage.removeAttribute("data-whole");
    if (document.fullscreenElement) document.exitFullscreen();
  };
  const fill = async () => {
    stage.setAttribute("data-whole", "");
    try {
      // The page and not the stage: what lies outside of a stage alone could not be focused.
      await document.documentElement.requestFullscreen();
      hasScreen = true;
      if (!isWhole()) leave();
    } catch {
      // Some browsers and frames refuse: then the window is filled.
    }
  };
  stage.addEventListener("screen:toggle", () => (isWhole() ? leave() : fill()));
  document.addEventListener("fullscreenchange", () => {
    if (hasScreen && !document.fullscreenElement) leave();
  });
  document.addEventListener("keydown", (event) => event.key === "Escape" && isWhole() && leave());
  document.addEventListener("focusin", ({ target }) => {
    if (isWhole() && !stage.contains(target) && !target.closest("dialog")) leave();
  });
}
