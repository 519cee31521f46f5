// The service worker, seen from the page: whether a reload needs the desk, and whether a newer page waits.

const NEEDS_DESK = "A reload needs the desk: keep this page open, or save a file.";

/** What is known of the worker at first: a page that no worker keeps. */
export const unkept = () => ({ isReady: false, told: NEEDS_DESK, isNewer: false });

/** Register the worker, and tell in `seen` how far it has come; `changed()` is called whenever that changes. */
export async function startWorker(seen, changed) {
  const workers = navigator.serviceWorker; // there on secure origins only
  if (!workers) return;
  const registration = await registered(workers, (reason) => { seen.told = `${NEEDS_DESK} (${reason})`; });
  if (!registration) {
    changed();
    return;
  }
  const look = () => {
    seen.isReady = registration.active !== null;
    seen.told = seen.isReady ? "This page opens without the desk too." : NEEDS_DESK;
    seen.isNewer = registration.waiting !== null && registration.active !== null;
    changed();
  };
  const watch = (worker) => worker?.addEventListener("statechange", look);
  [registration.installing, registration.waiting, registration.active].forEach(watch);
  registration.addEventListener("updatefound", () => watch(registration.installing));
  document.getElementById("take-newer").addEventListener("click", () => {
    workers.addEventListener("controllerchange", () => location.reload(), { once: true });
    registration.waiting?.postMessage("take over");
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") registration.update().catch(() => {}); // no desk in reach: asked again next time
  });
  look();
}

/** The registration; where it fails, as without signal, the one of an earlier visit. */
async function registered(workers, failed) {
  let reason = "the browser keeps no page";
  try {
    const made = await workers.register("/log/worker.js", { scope: "/log", updateViaCache: "none" });
    if (made) return made;
  } catch (error) {
    reason = error.message;
  }
  const earlier = await workers.getRegistration("/log");
  if (earlier?.active) return earlier;
  failed(reason);
  return null;
}
