import assert from "node:assert/strict";
import { test } from "node:test";

import { choose } from "../../static/js/bench/hands.js";
import { createKeeper } from "../../static/js/bench/keeping.js";
import { isNear, offer, plain, split } from "../../static/js/bench/matching.js";
import { openDrawer } from "../../static/js/bench/sending.js";

// ---- matching

const TERMS = [
  { slug: "a", name: "Feet not brought up", phase: "kick", see: "The heels stop half way." },
  { slug: "b", name: "Late breath", phase: "breathing", see: "The head lifts after the pull." },
  { slug: "c", name: "Heels outside the feet", phase: "kick", see: "Knees first." },
  { slug: "d", name: "Überkreuzen", phase: "pull", see: "Hands cross." },
];
const slugs = (typed, options) =>
  offer(TERMS, typed, options).flatMap((group) => group.terms.map((term) => term.slug));

test("what begins with the typed words comes first, then names, then what is seen", () => {
  assert.deepEqual(slugs("he"), ["c", "a", "b"]);
  assert.deepEqual(slugs("fe"), ["a", "c"]);
  assert.equal(slugs("feet br")[0], "a");
  assert.deepEqual(slugs("zz"), []);
});

test("accents and capitals do not matter", () => {
  assert.deepEqual(slugs("uber"), ["d"]);
  assert.equal(plain("Füße"), "fuße");
});

test("nothing typed offers the list from its beginning, seven at most, in groups", () => {
  assert.deepEqual(slugs("", { most: 3 }), ["a", "c", "b"]);
  const many = Array.from({ length: 30 }, (_, place) => ({ ...TERMS[0], slug: `${place}` }));
  assert.equal(offer(many, "feet").flatMap((group) => group.terms).length, 7);
  assert.deepEqual(offer(TERMS, "").map(({ phase }) => phase), ["kick", "breathing", "pull"]);
});

test("the swimmer's open items come first, then the month's, the phase, the stroke and majors", () => {
  const [a, b, c, d] = TERMS;
  const here = (what) => slugs("", { here: what });
  assert.deepEqual(here({ items: new Set(["d"]), month: new Set(["b"]) }), ["d", "b", "a", "c"]);
  assert.equal(here({ phase: "breathing" })[0], "b");
  const swum = [a, { ...b, strokes: ["fly"] }, c, { ...d, severity: "major" }];
  const found = offer(swum, "", { here: { stroke: "fly" } }).flatMap((group) => group.terms);
  assert.deepEqual(found.map(({ slug }) => slug), ["b", "d", "a", "c"]);
});

test("what is likely goes forward among what was typed, and does not hide what was meant", () => {
  assert.deepEqual(slugs("feet"), ["a", "c"]);
  assert.deepEqual(slugs("feet", { here: { items: new Set(["c"]) } }), ["c", "a"]);
  assert.equal(slugs("late breath", { here: { items: new Set(["a", "c", "d"]) } })[0], "b");
});

test("the typed word is found in the name as it is written", () => {
  assert.deepEqual(split("Überkreuzen", "uber"), ["", "Über", "kreuzen"]);
  assert.deepEqual(split("Late breath", "bre"), ["Late ", "bre", "ath"]);
  assert.deepEqual(split("Late breath", "heel"), ["Late breath", "", ""]);
});

test("what people say on the deck is found behind the names, before what is seen", () => {
  const said = [TERMS[0], { ...TERMS[1], phase: "kick", also: ["heels not up"] }, TERMS[2]];
  const [{ terms }] = offer(said, "heels");
  assert.deepEqual(terms.map(({ slug }) => slug), ["c", "b", "a"]);
});

test("small words around what is meant need not be there, and another word does not hide it", () => {
  assert.deepEqual(slugs("his breath is too late"), ["b"]);
  assert.equal(slugs("feet brought upwards")[0], "a");
  assert.deepEqual(slugs("feet sideways").toSorted(), ["a", "c"]);
  assert.deepEqual(slugs("too"), []);
});

test("words that mean the same on the deck are one", () => {
  const [{ terms }] = offer([{ slug: "e", name: "Hips low", phase: "body", see: "" }], "bum sinks");
  assert.equal(terms[0].slug, "e");
});

test("what is rare weighs more than what stands everywhere", () => {
  const many = Array.from({ length: 9 }, (_, place) => ({
    slug: `${place}`, name: `Kick ${place}`, phase: "kick", see: "",
  }));
  const scissor = { slug: "s", name: "Scissor", phase: "kick", see: "" };
  const [{ terms }] = offer([...many, scissor], "scissor kick");
  assert.equal(terms[0].slug, "s");
});

test("endings do not matter", () => {
  assert.deepEqual(slugs("breathing"), ["b"]);
  assert.deepEqual(slugs("stopped"), ["a"]);
  assert.deepEqual(slugs("hand's"), ["d"]);
});

test("a slip of the finger is forgiven, in short words none", () => {
  assert.deepEqual(slugs("brxxhinx"), []);
  assert.deepEqual(slugs("breeth"), ["b"]);
  assert.deepEqual(slugs("haels"), ["c", "a"]);
  assert.deepEqual(slugs("fit"), []);
  assert.ok(isNear("kene", "knees"));
  assert.ok(isNear("butterlfy", "butterfly"));
  assert.ok(isNear("recovry", "recovery"));
  assert.ok(!isNear("pull", "push"));
  assert.ok(!isNear("abcdefgh", "hgfedcba"));
});

// ---- keeping

/** A server of one comment: answers are taken from `replies`, or it keeps what is sent. */
function world(replies = []) {
  const sent = [];
  const told = [];
  const drawer = new Map();
  const waiting = [];
  let version = 0;
  const send = async (url, body) => {
    sent.push([url, body]);
    const reply = replies.shift();
    if (reply instanceof Error) throw reply;
    if (reply) return reply;
    version += 1;
    const status = version === 1 ? 201 : 200;
    return { status, answer: { version, urls: { change: "/change/" } } };
  };
  const store = {
    put: (draft) => drawer.set(draft.code, structuredClone(draft)),
    remove: (code) => drawer.delete(code),
  };
  const keeper = createKeeper(
    { code: "c", version: 0, url: "", fields: { words: "" } },
    {
      writeUrl: "/write/",
      send,
      store,
      tell: (name) => told.push(name),
      later: (act) => waiting.push(act),
    },
  );
  return { keeper, sent, told, drawer, waiting, tick: () => waiting.splice(0).map((act) => act()) };
}

test("typing is sent once, after a pause, and the browser's copy goes", async () => {
  const { keeper, sent, told, drawer, tick } = world();
  keeper.put({ words: "H" });
  keeper.put({ words: "He" });
  assert.equal(drawer.get("c").fields.words, "He");
  await Promise.all(tick());
  assert.deepEqual(sent, [["/write/", { code: "c", words: "He" }]]);
  assert.deepEqual(told, ["keeping", "kept"]);
  assert.equal(drawer.size, 0);
});

test("what is typed while a request is on its way follows with the new version", async () => {
  const { keeper, sent } = world();
  keeper.put({ words: "one" });
  const done = keeper.flush();
  keeper.put({ words: "two" });
  assert.equal(await done, "kept");
  assert.deepEqual(sent[1], ["/change/", { version: 1, words: "two" }]);
  assert.equal(sent.length, 2);
});

test("asking with nothing to send does not stop what comes later", async () => {
  const { keeper, sent } = world();
  keeper.put({ words: "one" });
  await keeper.flush();
  assert.equal(await keeper.flush(), "kept");
  keeper.put({ words: "two" });
  await keeper.flush();
  assert.equal(sent.length, 2);
});

test("a lost line keeps the words in the browser and tries again", async () => {
  const { keeper, sent, told, drawer, waiting } = world([new Error("lost")]);
  keeper.put({ words: "one" });
  assert.equal(await keeper.flush(), "lost");
  assert.equal(drawer.get("c").fields.words, "one");
  await waiting.at(-1)();
  assert.equal(sent.length, 2);
  assert.equal(told.at(-1), "kept");
  assert.equal(drawer.size, 0);
});

test("a first sending whose answer was lost is not written twice", async () => {
  const known = { status: 200, answer: { version: 1, urls: { change: "/change/" } } };
  const { keeper, sent } = world([new Error("lost"), known]);
  keeper.put({ words: "one" });
  await keeper.flush();
  keeper.put({ words: "two" });
  assert.equal(await keeper.flush(), "kept");
  assert.deepEqual(sent.map(([url]) => url), ["/write/", "/write/", "/change/"]);
  assert.deepEqual(sent[2][1], { version: 1, words: "two" });
});

test("another hand stops the sending until somebody has chosen", async () => {
  const theirs = { version: 5, words: "theirs" };
  const { keeper, sent, told } = world([{ status: 409, answer: { theirs } }]);
  keeper.put({ words: "mine" });
  assert.equal(await keeper.flush(), "stale");
  assert.equal(await keeper.flush(), "stale");
  assert.equal(sent.length, 1);
  keeper.url = "/change/";
  assert.equal(await keeper.settle({ words: "mine" }), "kept");
  assert.equal(sent[1][1].version, 5);
  assert.equal(told.at(-1), "kept");
});

test("what the server refuses is not sent again as it is, and stays in the browser", async () => {
  const { keeper, sent, drawer } = world([{ status: 422, answer: { errors: { tag: "no" } } }]);
  keeper.put({ words: "one" });
  assert.equal(await keeper.flush(), "refused");
  assert.equal(sent.length, 1);
  assert.equal(drawer.size, 1);
  keeper.put({ words: "two" });
  assert.equal(await keeper.flush(), "kept");
});

for (const [status, name] of [[0, "signedOut"], [403, "signedOut"], [404, "gone"], [500, "lost"]]) {
  test(`status ${status} is told as ${name}`, async () => {
    const { keeper, drawer } = world([{ status, answer: null }]);
    keeper.put({ words: "one" });
    assert.equal(await keeper.flush(), name);
    assert.equal(drawer.size, 1);
  });
}

test("a drop sends nothing more", async () => {
  const { keeper, sent, drawer, tick } = world();
  keeper.put({ words: "one" });
  keeper.stop();
  await Promise.all(tick());
  assert.equal(sent.length, 0);
  assert.equal(drawer.size, 0);
});

// ---- two hands, and the drawer

test("both wordings stand one after the other, and equal ones once", () => {
  const mine = { words: "Mine.", cue: "m" };
  assert.deepEqual(choose("mine", mine, { words: "Theirs." }), mine);
  assert.equal(choose("theirs", mine, { words: "Theirs." }), null);
  const both = choose("both", mine, { words: "Theirs. " });
  assert.deepEqual([both.words, both.cue], ["Theirs.\n\nMine.", "m"]);
  assert.equal(choose("both", mine, { words: "Mine." }).words, "Mine.");
  const drawn = (k) => ({ schema: "drawing/1", aspect: 1.5, shapes: [{ k, p: [[0, 0], [1, 1]], w: 0.01 }] });
  const { drawing } = choose("both", { ...mine, drawing: drawn("arrow") }, { words: "", drawing: drawn("line") });
  assert.deepEqual(drawing.shapes.map(({ k }) => k), ["line", "arrow"]);
});

test("a drawer gives back only its own drafts", () => {
  const rows = new Map();
  const storage = {
    get length() { return rows.size; },
    key: (place) => [...rows.keys()][place],
    getItem: (key) => rows.get(key),
    setItem: (key, value) => rows.set(key, value),
    removeItem: (key) => rows.delete(key),
  };
  const drawer = openDrawer("slip:ann:1:", storage);
  openDrawer("slip:bob:1:", storage).put({ code: "x" });
  drawer.put({ code: "y", fields: {} });
  assert.deepEqual(drawer.all(), [{ code: "y", fields: {} }]);
  drawer.remove("y");
  assert.deepEqual(drawer.all(), []);
});
