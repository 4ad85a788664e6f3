import assert from "node:assert/strict";
import { test } from "node:test";

import { compare, createListener } from "../../static/js/bench/listening.js";

const said = (code, version = 1, changed = {}) => ({ code, version, words: "", ...changed });
const known = (...comments) => new Map(comments.map((comment) => [comment.code, comment]));
const nobody = () => false;

test("what is new or newer comes in, and what is no longer listed goes", () => {
  const { changed, gone } = compare(
    known(said("a"), said("b"), said("c")), [said("a"), said("b", 2), said("d")], nobody,
  );
  assert.deepEqual(changed.map(({ code }) => code), ["b", "d"]);
  assert.deepEqual(gone.map(({ code }) => code), ["c"]);
});

test("an older wording never comes back, and a dropped one is not dropped twice", () => {
  const mine = known(said("a", 3, { words: "newer" }), said("b", 2, { isDropped: true }));
  assert.deepEqual(compare(mine, [said("a", 2)], nobody), { changed: [], gone: [] });
});

test("a change of the focus comes in although the version stays", () => {
  const { changed } = compare(known(said("a")), [said("a", 1, { focus: true })], nobody);
  assert.equal(changed[0].focus, true);
});

test("words that are not sent yet are left alone", () => {
  const isBusy = (code) => code === "a" || code === "new";
  const mine = known(said("a"), said("new", 0));
  assert.deepEqual(compare(mine, [said("a", 2)], isBusy), { changed: [], gone: [] });
});

/** A server that answers with these, and a page whose writes can be counted up. */
function listener(replies, page = { writes: 0 }) {
  const heard = [];
  const asked = [];
  const ask = async (tag) => {
    asked.push(tag);
    const reply = replies.shift();
    if (reply instanceof Error) throw reply;
    page.writes += reply.writes ?? 0;
    return reply;
  };
  const made = createListener({
    ask, writes: () => page.writes, heard: (comments) => heard.push(comments),
    isHidden: () => page.isHidden ?? false,
  });
  return { made, heard, asked, page };
}

test("it asks with what it heard last", async () => {
  const { made, heard, asked } = listener([
    { status: 200, tag: "one", comments: [1] }, { status: 304 }, new Error("lost"), { status: 304 },
  ]);
  for (let round = 0; round < 4; round += 1) await made.listen();
  assert.deepEqual(heard, [[1]]);
  assert.deepEqual(asked, ["", "one", "one", "one"]);
});

test("an answer that was on its way while this page wrote is asked for again", async () => {
  const { made, heard, asked } = listener([
    { status: 200, tag: "old", comments: ["old"], writes: 1 },
    { status: 200, tag: "new", comments: ["new"] },
  ]);
  await made.listen();
  await made.listen();
  assert.deepEqual(heard, [["new"]]);
  assert.deepEqual(asked, ["", ""]);
});

test("while nobody looks nobody is asked", async () => {
  const { made, asked } = listener([], { writes: 0, isHidden: true });
  await made.listen();
  assert.deepEqual(asked, []);
});
