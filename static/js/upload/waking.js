// A telephone that falls asleep sends nothing: while films go out, its screen stays on.

let lock = null;
let isWanted = false;

export async function stayAwake(wanted) {
  isWanted = wanted;
  if (!wanted) {
    lock?.release();
    lock = null;
  } else if (!lock && navigator.wakeLock) {
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => (lock = null));
    } catch {
      // Low on battery, or out of sight: the upload goes on as long as it is let.
      lock = null;
    }
  }
}

// The lock is lost whenever the page is out of sight.
document.addEventListener("visibilitychange", () => {
  if (isWanted && document.visibilityState === "visible") stayAwake(true);
});
