import assert from "node:assert/strict";
import { test } from "node:test";

import { BROKEN, REFUSED, WHOLE, judge } from "../../static/js/upload/sending.js";

const answer = (status, said) =>
  judge({ status, responseText: typeof said === "string" ? said : JSON.stringify(said) });

test("it works", () => {
  assert.deepEqual(answer(201, { code: "c", url: "/u/" }), {
    end: WHOLE, why: "", retry: false, status: 0,
  });
});

test("what the portal refuses is said in its words, and not tried again", () => {
  const { end, why, retry } = answer(422, { problem: "This file is not a film." });
  assert.deepEqual([end, why, retry], [REFUSED, "This file is not a film.", false]);
});

test("a line that broke may be tried again", () => {
  const { end, retry } = answer(400, { problem: "The line broke." });
  assert.deepEqual([end, retry], [BROKEN, true]);
});

test("a sign-in page is no success", () => {
  const { end, why, retry } = answer(200, "<!doctype html><title>Sign in</title>");
  assert.deepEqual([end, why, retry], [REFUSED, "signedOut", true]);
});

test("whatever else comes is told with its number", () => {
  assert.equal(answer(403, "<h1>no</h1>").why, "noRight");
  assert.equal(answer(404, "").why, "noRight");
  const { why, status } = answer(502, "<h1>Bad gateway</h1>");
  assert.deepEqual([why, status], ["unforeseen", 502]);
  assert.equal(answer(201, "not JSON").why, "unforeseen");
});
