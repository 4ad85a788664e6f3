// One key to the next thing to do: the link that the page has marked.

import { bindKeys } from "../kit/keys.js";

const next = document.querySelector("[data-onward]");
const words = next ? [{ keys: ["N"], says: next.dataset.onward }] : [];

bindKeys({ n: () => next?.click() }, { help: document.querySelector("dialog.keys"), words });
