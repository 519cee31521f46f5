// The page of an outing: draws the traces that are in view, lets go of those far away, and fetches further pieces.

import { hang } from "./curve.js";
import { listenToKeys, say } from "./page.js";
import { drawPlot, labelStep, rows } from "./plot.js";

const LANE = { withCuts: 84, without: 10 }; // CSS px above the plot
const EDGE = { left: 46, right: 14, bottom: 40 };

const list = document.getElementById("bursts");
const scale = { sharp_px: Number(list.dataset.sharp), soft_px: Number(list.dataset.soft), limit_px: Number(list.dataset.limit) };

function room(place) {
  const width = place.clientWidth - EDGE.left - EDGE.right;
  const top = place.querySelector(".cut-on-curve") ? LANE.withCuts : LANE.without;
  return { ...EDGE, top, width, height: place.clientHeight - top - EDGE.bottom };
}

const plots = new Map();

async function drawTrace(place) {
  if (plots.has(place)) return;
  plots.set(place, null);
  const figures = rows(JSON.parse(place.querySelector(".figures").textContent));
  const last = Math.max(1, ...figures.map((row) => row.number));
  const size = room(place);
  const plot = await drawPlot(place.querySelector(".canvas"), "trace", { frames: figures },
    { ...scale, first: 1, last, step: labelStep(last, size.width), current: 0 }, size);
  if (!plots.has(place)) return plot.remove();
  plots.set(place, plot);
  hangCuts(place, plot);
}

function hangCuts(place, plot) {
  const layer = place.querySelector(".hanging");
  const cuts = [...layer.querySelectorAll(".cut-on-curve")].map((element) => {
    element.hidden = false;
    const { number, blur, width, height } = element.dataset;
    return { element, number: Number(number), blur_px: Number(blur), width: Number(width), height: Number(height) };
  });
  hang(plot, cuts, layer);
}

function letGo(place) {
  plots.get(place)?.remove();
  plots.delete(place);
}

// Two screens ahead and behind are drawn; what is further away costs nothing.
const near = new IntersectionObserver((entries) => {
  for (const { target, isIntersecting } of entries) {
    if (isIntersecting) drawTrace(target).catch((error) => { target.querySelector(".canvas").textContent = error.message; });
    else letGo(target);
  }
}, { rootMargin: "200% 0px" });

function watch(part) {
  for (const place of part.querySelectorAll(".trace-room")) near.observe(place);
}

// Going back leads to the piece that the burst is in, and to the burst, however far one had scrolled.
list.addEventListener("click", (event) => {
  const burst = event.target.closest(".burst");
  if (!burst || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const before = Number(burst.dataset.number) - 1;
  const piece = Number(list.dataset.piece);
  history.replaceState(null, "", `${location.pathname}?first=${before - (before % piece) + 1}&soft_px=${scale.soft_px}#${burst.id}`);
}, { capture: true });

list.addEventListener("click", (event) => {
  const place = event.target.closest(".trace-room");
  const plot = place && plots.get(place);
  if (!plot || event.target.closest("a")) return;
  const number = Math.round(plot.atX(event.clientX - place.getBoundingClientRect().left));
  location.href = `${place.dataset.href}?frame=${Math.max(1, number)}`;
});

let width = innerWidth;
addEventListener("resize", () => {
  if (innerWidth === width) return; // a phone's address bar changes the height alone
  width = innerWidth;
  for (const place of [...plots.keys()]) { letGo(place); near.unobserve(place); near.observe(place); }
  drawOverview();
});

async function fetchMore(link) {
  const url = new URL(link.href);
  link.setAttribute("aria-busy", "true");
  url.pathname += "/piece";
  const answer = await fetch(url);
  if (!answer.ok) throw new Error("the further bursts did not come; is stillwing still running?");
  const part = document.createElement("template");
  part.innerHTML = await answer.text();
  const next = part.content.querySelector("[data-next]");
  watch(part.content);
  list.append(part.content);
  link.removeAttribute("aria-busy");
  if (next) link.href = next.dataset.next; else link.closest("p").remove();
}

const more = document.getElementById("more");
if (more) {
  let isFetching = false;
  const load = () => {
    if (isFetching || !more.isConnected) return;
    isFetching = true;
    fetchMore(more).catch((error) => say(error.message)).finally(() => {
      isFetching = false;
      if (!more.isConnected) return;
      end.unobserve(more); // asks again where the end is still in view
      end.observe(more);
    });
  };
  const end = new IntersectionObserver((entries) => { if (entries.some((one) => one.isIntersecting)) load(); }, { rootMargin: "100% 0px" });
  end.observe(more);
}

let overview;
let overviewRows;
async function drawOverview() {
  const place = document.getElementById("overview");
  if (!place) return;
  const bursts = overviewRows ??= rows(await (await fetch(place.dataset.source)).json());
  overview?.remove();
  const name = place.dataset.plot;
  const times = bursts.map((row) => row.clock_ms);
  const air = Math.max(60_000, 0.02 * (Math.max(...times) - Math.min(...times)));
  const size = { ...EDGE, top: 12, width: place.clientWidth - EDGE.left - EDGE.right, height: place.clientHeight - 12 - EDGE.bottom };
  overview = await drawPlot(place.querySelector(".canvas"), name, { bursts }, { ...scale, first: 1, last: bursts.length, current: 0, from_ms: Math.min(...times) - air, to_ms: Math.max(...times) + air }, size);
  overview.field = name === "hours" ? "clock_ms" : "number";
}

document.getElementById("overview")?.addEventListener("click", (event) => {
  const place = event.currentTarget;
  const edge = place.getBoundingClientRect();
  const distance = (row) => Math.hypot(
    overview.x(row[overview.field]) - (event.clientX - edge.left),
    (row.blur_px === null ? place.clientHeight - EDGE.bottom : overview.y(row.blur_px)) - (event.clientY - edge.top));
  const nearest = overviewRows.reduce((best, row) => (distance(row) < distance(best) ? row : best));
  goTo(nearest, place.dataset.outing);
});

function goTo(burst, outing) {
  const here = document.getElementById(`burst-${burst.id}`);
  if (!here) {
    location.href = `/outings/${outing}?first=${burst.number}&soft_px=${scale.soft_px}#burst-${burst.id}`;
    return;
  }
  here.scrollIntoView();
  here.querySelector(".burst-name a").focus({ preventScroll: true });
}

function step(by) {
  const links = [...list.querySelectorAll(".burst-name a")];
  const at = links.indexOf(document.activeElement);
  const next = links[at < 0 ? 0 : at + by];
  if (!next) return;
  next.focus({ preventScroll: true });
  next.closest(".burst").scrollIntoView({ block: "nearest" });
}

listenToKeys({ n: () => step(1), b: () => step(-1) });
watch(document);
drawOverview().catch((error) => say(error.message));
