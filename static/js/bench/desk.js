// The desk: one key to the next thing to do, and what families ask.

import "./onward.js";

// Nobody has asked anything: the page says so already, and an empty answer would take that away.
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  if (!detail.xhr.responseText.trim()) detail.shouldSwap = false;
});
