import assert from "node:assert/strict";
import { createHash, randomBytes } from "node:crypto";
import { test } from "node:test";

import {
  AGAIN, ANEW, ON, REFUSED, fingerprint, judge, mark, metadata, wait,
} from "../../static/js/upload/sending.js";

const answer = (status, problem = "", isKnown = true) => judge({ status, problem, isKnown });

test("it works", () => {
  for (const status of [200, 201, 204]) assert.deepEqual(answer(status), { next: ON });
});

test("what the portal refuses is said in its words, and not tried again", () => {
  const { end, why, retry } = answer(422, "This file is not a film.");
  assert.deepEqual([end, why, retry], [REFUSED, "This file is not a film.", false]);
});

test("a full disk may have room later", () => {
  const { end, retry } = answer(507, "no room");
  assert.deepEqual([end, retry], [REFUSED, true]);
});

test("a line that broke, and somebody else's turn, are only waited for", () => {
  for (const status of [0, 400, 409, 423, 429, 460, 500, 502, 503]) {
    assert.deepEqual(answer(status, "words"), { next: AGAIN });
  }
});

test("who is signed out does not begin anew", () => {
  const { end, why, retry } = answer(401, "words");
  assert.deepEqual([end, why, retry], [REFUSED, "signedOut", true]);
});

test("an upload that is gone begins anew; a session that is gone does not", () => {
  assert.deepEqual(answer(404), { next: ANEW });
  assert.deepEqual(answer(410), { next: ANEW });
  assert.equal(answer(404, "", false).why, "noRight");
  assert.equal(answer(403).why, "noRight");
});

test("whatever else comes is told with its number", () => {
  const { why, status } = answer(418);
  assert.deepEqual([why, status], ["unforeseen", 418]);
});

test("waiting grows and stays bearable", () => {
  assert.deepEqual([0, 1, 2, 99].map(wait), [1, 2, 5, 30]);
});

test("a fingerprint is of both ends, as the portal makes it", async () => {
  const MEBIBYTE = 1024 * 1024;
  for (const size of [0, 5, MEBIBYTE, 3 * MEBIBYTE + 1]) {
    const whole = randomBytes(size);
    const sum = createHash("sha256");
    sum.update(whole.subarray(0, MEBIBYTE));
    sum.update(whole.subarray(Math.max(0, size - MEBIBYTE)));
    assert.equal(await fingerprint(new Blob([whole])), sum.digest("hex"));
  }
});

test("the words about a film", () => {
  const film = { name: "nähe.mp4", type: "video/mp4", size: 5, lastModified: 7 };
  assert.equal(metadata(film, false), "filename bsOkaGUubXA0,filetype dmlkZW8vbXA0");
  assert.equal(metadata({ ...film, type: "" }, true), "filename bsOkaGUubXA0,not-to-be-shown");
  assert.match(metadata(film, false, "abc"), /,fingerprint YWJj$/);
  assert.equal(mark("/a/", film), "arrival /a/ 5 7");
});
