// The screen stays awake during a run, where the browser allows it.
let lock = null, wanted = false;

async function take() {
  if (!wanted || lock || document.hidden || !navigator.wakeLock) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { lock = null; });
  } catch { lock = null; }
}

export function keepAwake(yes) {
  if (yes === wanted) return;
  wanted = yes;
  if (yes) take(); else { lock?.release(); lock = null; }
}

document.addEventListener("visibilitychange", take);
