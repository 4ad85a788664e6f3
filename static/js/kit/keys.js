// Single-key shortcuts: dead while somebody types, and whoever speaks to the computer or shakes
// can switch them off (WCAG 2.1.4). Keys with Ctrl or Cmd, and Escape, always work.

const STORED = "flagline-keys";
const OFF = "off";
const TYPED_INTO = "input, textarea, select, [contenteditable=''], [contenteditable=true]";
const NOT_TYPED_INTO = "[type=checkbox], [type=radio], [type=button], [type=submit], [type=range]";

/** The name of a pressed key: "g", "?", "ArrowLeft", "Shift+ArrowLeft", "Ctrl+Enter". */
export function keyName({ key, ctrlKey, metaKey, altKey, shiftKey }) {
  const isCharacter = key.length === 1;
  const name = key === " " ? "Space" : isCharacter ? key.toLowerCase() : key;
  const held = [
    (ctrlKey || metaKey) && "Ctrl",
    altKey && "Alt",
    // With a character, Shift is how it is typed: "?" here, "/" there.
    shiftKey && !(isCharacter && key !== " ") && "Shift",
  ];
  return [...held.filter(Boolean), name].join("+");
}

/** Whether a key may act, given what has the focus: what is typed into or pressed keeps its own. */
export function mayAct(name, { isTyping, isPressable, isChoice, isInDialog, isOn }) {
  if (isInDialog) return false;
  if (name.startsWith("Ctrl+") || name === "Escape") return true;
  if (!isOn || isTyping) return false;
  if (isPressable && (name === "Space" || name === "Enter")) return false;
  return !(isChoice && name.includes("Arrow"));
}

const keysAreOn = () => localStorage.getItem(STORED) !== OFF;

/**
 * `commands` maps key names to functions of the event; one that answers false has not acted, and
 * the browser does what it does. `help` is the page's <dialog>, filled
 * from `words`, a list of `{keys: ["G"], says: "good"}`; anything with data-keys-help opens it.
 * In it a checkbox with data-keys-on switches the keys.
 */
export function bindKeys(commands, { help = null, words = [] } = {}) {
  const open = () => help?.showModal();
  const all = { ...(help ? { "?": open } : {}), ...commands };
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.isComposing) return;
    const name = keyName(event);
    const act = Object.hasOwn(all, name) ? all[name] : null;
    if (!act || !mayAct(name, focusOf(event.target))) return;
    if (act(event) !== false) event.preventDefault();
  });
  if (help) fillHelp(help, words);
  for (const opener of document.querySelectorAll("[data-keys-help]")) {
    opener.addEventListener("click", open);
  }
}

function focusOf(target) {
  return {
    isTyping: target.matches(TYPED_INTO) && !target.matches(NOT_TYPED_INTO),
    isPressable: target.matches("button, a[href], summary, input, [role=button], [role=option]"),
    isChoice: target.matches("[type=radio], [type=range], [role=slider], [role=option]"),
    isInDialog: Boolean(target.closest("dialog[open]")),
    isOn: keysAreOn(),
  };
}

function fillHelp(help, words) {
  const list = document.createElement("dl");
  help.querySelector("h2").after(list);
  for (const { keys, says } of words) {
    const caps = list.appendChild(document.createElement("dt"));
    for (const key of keys) caps.appendChild(document.createElement("kbd")).textContent = key;
    list.appendChild(document.createElement("dd")).textContent = says;
  }
  const choice = help.querySelector("[data-keys-on]");
  choice.checked = keysAreOn();
  choice.addEventListener("change", () => {
    if (choice.checked) localStorage.removeItem(STORED);
    else localStorage.setItem(STORED, OFF);
  });
}
