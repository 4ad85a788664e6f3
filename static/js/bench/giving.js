// What is said to others too, and what is taken out; both can be taken back.

/** What stands on the slip is kept first: that is what the others get. */
export async function repeat(bench) {
  const keeper = bench.keepers.get(bench.open);
  const swimmers = bench.slip.chosenOthers();
  if (!swimmers.length) {
    bench.slip.showWrong({ repeat: bench.phrases.nobody });
    return;
  }
  keeper.put(bench.slip.read());
  if ((await keeper.flush()) !== "kept") return;
  const { urls } = bench.comments.get(keeper.code);
  const said = await bench.line.request(urls.repeat, { swimmers });
  if (!said) return;
  bench.slip.offerOthers(true);
  bench.line.tell(bench.phrases.repeated.replace("{names}", said.names.join(", ")), {
    words: bench.phrases.undo,
    act: async () => {
      const undone = await bench.line.request(urls.repeat, { taken_back: said.notes });
      if (undone) bench.line.tell(bench.phrases.unsaid);
    },
  });
}

/** Take the open comment out of the review; one button brings it back. */
export async function drop(bench) {
  const keeper = bench.keepers.get(bench.open);
  keeper.stop();
  bench.slip.close();
  bench.close();
  // What is on its way arrives first.
  await keeper.running;
  const comment = bench.comments.get(keeper.code);
  if (!comment) return;
  const dropped = await bench.post(comment.urls.drop, {});
  if (dropped) offerUndo(bench, dropped, comment.focus);
}

function offerUndo(bench, dropped, wasFocus) {
  const name = dropped.name || bench.phrases.noTag;
  bench.line.tell(bench.phrases.dropped.replace("{name}", name), {
    words: bench.phrases.undo,
    act: async () => {
      const restored = await bench.post(dropped.urls.restore, { focus: wasFocus });
      if (restored) bench.read(restored.code, { isAsked: true });
    },
  });
}
