// Says something to people who hear the page; what is seen stays where it is.

let region = null;

export function announce(words) {
  region ??= addRegion();
  region.textContent = "";
  // A region that is filled in the same breath as it appears is often not read out.
  setTimeout(() => (region.textContent = words), 50);
}

function addRegion() {
  const status = document.createElement("p");
  status.className = "unseen";
  status.setAttribute("role", "status");
  return document.body.appendChild(status);
}
