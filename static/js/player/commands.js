// The keys that move and show the film; what they are called stands in the page's list of keys.

/** For bindKeys: each key asks the stage. */
export function filmKeys(stage) {
  const ask = (name, detail = {}) => () => stage.dispatchEvent(new CustomEvent(name, { detail }));
  const step = (by) => ask("step:request", { by });
  // The browser keeps its own Alt and arrow while there is nothing to move.
  const move = (detail) => () => stage.hasAttribute("data-near") && ask("move:request", detail)();
  return {
    Space: ask("play:toggle"),
    ArrowLeft: step(-1),
    ArrowRight: step(1),
    "Shift+ArrowLeft": step(-10),
    "Shift+ArrowRight": step(10),
    j: ask("shuttle:request", { direction: -1 }),
    k: ask("shuttle:request", { direction: 0 }),
    l: ask("shuttle:request", { direction: 1 }),
    "Shift+ArrowUp": ask("rate:request", { by: 1 }),
    "Shift+ArrowDown": ask("rate:request", { by: -1 }),
    i: ask("loop:begin"),
    o: ask("loop:end"),
    r: ask("loop:toggle"),
    "+": ask("near:request", { by: 1 }),
    // On many keyboards plus is typed with Shift, and this without.
    "=": ask("near:request", { by: 1 }),
    "-": ask("near:request", { by: -1 }),
    0: ask("near:request", { by: 0 }),
    "Alt+ArrowLeft": move({ right: -1 }),
    "Alt+ArrowRight": move({ right: 1 }),
    "Alt+ArrowUp": move({ down: -1 }),
    "Alt+ArrowDown": move({ down: 1 }),
    f: ask("screen:toggle"),
  };
}
