// The service worker, seen from the page: whether a reload needs the desk, and whether a newer page waits.

const NEEDS_DESK = "A reload needs the desk: keep this page open, or save a file.";

/** Register the worker; `{ isReady, told, isNewer }`, and `changed()` is called whenever that changes. */
export async function startWorker(changed) {
  const seen = { isReady: false, told: NEEDS_DESK, isNewer: false };
  const workers = navigator.serviceWorker; // there on secure origins only
  if (!workers) return seen;
  let registration;
  try {
    registration = await workers.register("/log/worker.js", { scope: "/log", updateViaCache: "none" });
  } catch (error) {
    registration = await workers.getRegistration("/log");
    if (!registration?.active) return { ...seen, told: `${NEEDS_DESK} (${error.message})` };
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
  return seen;
}
