import assert from "node:assert/strict";
import { test } from "node:test";

import { keyName, mayAct } from "../../static/js/kit/keys.js";

const press = (key, held = {}) =>
  keyName({ key, ctrlKey: false, metaKey: false, altKey: false, shiftKey: false, ...held });

const PAGE = { isTyping: false, isPressable: false, isChoice: false, isInDialog: false, isOn: true };

test("it works", () => {
  assert.equal(press("g"), "g");
  assert.equal(press("G", { shiftKey: true }), "g");
  assert.equal(press("?", { shiftKey: true }), "?");
  assert.equal(press(" "), "Space");
  assert.equal(press("ArrowLeft", { shiftKey: true }), "Shift+ArrowLeft");
  assert.equal(press("Enter", { ctrlKey: true }), "Ctrl+Enter");
  assert.equal(press("Enter", { metaKey: true }), "Ctrl+Enter");
  assert.ok(mayAct("g", PAGE));
});

test("single keys are dead in a text field", () => {
  const typing = { ...PAGE, isTyping: true };
  for (const name of ["g", "?", "Space", "ArrowLeft", "Shift+ArrowLeft"]) {
    assert.equal(mayAct(name, typing), false, name);
  }
  assert.ok(mayAct("Ctrl+Enter", typing));
  assert.ok(mayAct("Escape", typing));
});

test("switched off, only keys with Ctrl and Escape are left", () => {
  const off = { ...PAGE, isOn: false };
  assert.equal(mayAct("g", off), false);
  assert.equal(mayAct("Space", off), false);
  assert.ok(mayAct("Ctrl+Enter", off));
});

test("what has the focus keeps its own keys", () => {
  assert.equal(mayAct("Space", { ...PAGE, isPressable: true }), false);
  assert.equal(mayAct("Enter", { ...PAGE, isPressable: true }), false);
  assert.ok(mayAct("g", { ...PAGE, isPressable: true }));
  assert.equal(mayAct("ArrowLeft", { ...PAGE, isChoice: true }), false);
  assert.equal(mayAct("Ctrl+Enter", { ...PAGE, isInDialog: true }), false);
});
