// Two people on one clip: what the other kept meanwhile, and what when both wrote on one comment.

import { announce } from "../kit/announce.js";
import { askHands } from "./hands.js";
import { compare } from "./listening.js";
import { fieldsOf } from "./slip.js";

/** Take in what the server has of this clip now, except where this page has words of its own. */
export function hear(bench, theirs) {
  const isBusy = (code) => {
    const keeper = bench.keepers.get(code);
    return Boolean(keeper && (keeper.isDirty || keeper.running || keeper.theirs));
  };
  const { changed, gone } = compare(bench.comments, theirs, isBusy);
  const news = changed.filter(({ code, isOwn }) => !isOwn && !bench.comments.has(code));
  for (const comment of changed) bench.comments.set(comment.code, comment);
  for (const comment of gone) bench.comments.set(comment.code, { ...comment, isDropped: true });
  if (!changed.length && !gone.length) return;
  for (const comment of changed) bench.remarks.reveal(comment);
  follow(bench, [...changed, ...gone]);
  bench.show();
  for (const { author, name } of news) {
    const words = bench.phrases.heard.replace("{author}", author);
    announce(words.replace("{name}", name || bench.phrases.noTag));
  }
}

/** What lies open and untouched shows how it stands now. Who is about to write goes on: the
 *  server then refuses, and both wordings are offered. */
function follow(bench, comments) {
  const at = comments.find(({ code }) => code === bench.open);
  if (!at || !bench.slip.isOpen || bench.slip.isWrittenOn) return;
  const { isDropped, mayChange } = bench.comments.get(at.code);
  if (isDropped || !mayChange) {
    bench.close();
    bench.line.tell(isDropped ? bench.phrases.theirsDropped : bench.phrases.isOut);
    return;
  }
  const keeper = bench.keepers.get(at.code);
  keeper.theirs = at;
  keeper.adopt(fieldsOf(at));
  bench.slip.open(keeper.fields);
}

/** Two wordings, and three answers; what is chosen is kept. */
export async function compareHands(bench, keeper) {
  const { theirs } = keeper;
  const fields = await askHands(bench.part("two-hands"), {
    mine: () => keeper.fields, theirs: fieldsOf(theirs), isDropped: theirs.isDropped, phrases: bench.phrases,
    nameOf: (slug) => bench.slip.finder.find(slug)?.name ?? slug,
  });
  if (fields === null) keeper.adopt(fieldsOf(theirs));
  else if (!theirs.isDropped) await keeper.settle(fields);
  else if (await bench.post(theirs.urls.restore, {})) {
    keeper.theirs = bench.comments.get(keeper.code);
    await keeper.settle(fields);
  }
  if (keeper.code !== bench.open) return;
  if (fields === null && theirs.isDropped) bench.close();
  else bench.slip.open(keeper.fields);
  bench.show();
  bench.slip.field("words").focus();
}
