// Keeps the screen awake while the drills lie at the edge of the pool, where the browser allows it.

const said = document.querySelector(".awake");
let lock = null;

async function stayAwake() {
  if (document.visibilityState !== "visible" || lock) return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    return; // low battery, or the person has forbidden it
  }
  said.classList.add("on");
  lock.addEventListener("release", () => {
    lock = null;
    said.classList.remove("on");
  });
}

if (said && "wakeLock" in navigator) {
  document.addEventListener("visibilitychange", stayAwake);
  stayAwake();
}
