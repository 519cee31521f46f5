// Draws one of the compiled plots into a place of the page. Colours come from the style sheet, figures from the page.

const PALETTE = { ink: "--ink", soft: "--ink-soft", grid: "--grid", accent: "--accent", wash: "--wash", raised: "--raised" };
for (let step = 0; step < 7; step++) PALETTE[`blur${step}`] = `--blur-${step}`;
const specs = new Map();
const drawn = new Set();

/** Return the colours that the style sheet gives right now, resolved for light or dark. */
function palette() {
  const probe = document.createElement("span");
  probe.style.forcedColorAdjust = "none";
  document.body.append(probe);
  const colours = {};
  for (const [signal, token] of Object.entries(PALETTE)) {
    probe.style.color = `var(${token})`;
    colours[signal] = getComputedStyle(probe).color;
  }
  probe.remove();
  return colours;
}

function spec(name) {
  if (!specs.has(name)) {
    specs.set(name, fetch(document.querySelector(`link[data-plot="${name}"]`).href).then((answer) => {
      if (!answer.ok) throw new Error(`the plot ${name} did not come: ${answer.status}`);
      return answer.json();
    }));
  }
  return specs.get(name);
}

/** The drawing script arrives beside ours; wait for it once. */
const script = new Promise((resolve, reject) => {
  if (window.vegaEmbed) return resolve();
  const element = document.getElementById("plot-script");
  element.addEventListener("load", () => resolve());
  element.addEventListener("error", () => reject(new Error("the plot script did not come")));
});

/**
 * Draw plot `name` into `place`.
 * `data` is {dataSet: rows}, `signals` {name: value}; `room` {width, height, left, top, right, bottom} is in CSS px.
 */
export async function drawPlot(place, name, data, signals, room) {
  const compiled = structuredClone(await spec(name));
  await script;
  for (const [set, rows] of Object.entries(data)) compiled.data.find((one) => one.name === set).values = rows;
  compiled.width = room.width;
  compiled.height = room.height;
  compiled.padding = { left: room.left, top: room.top, right: room.right, bottom: room.bottom };
  const values = { ...palette(), ...signals };
  for (const signal of compiled.signals) if (signal.name in values) signal.value = values[signal.name];
  const { view, finalize } = await window.vegaEmbed(place, compiled, {
    mode: "vega", ast: true, renderer: "svg", actions: false, defaultStyle: false, tooltip: false, hover: false,
  });
  // The plot is read out by the slider and the table beside it; its hundreds of marks would drown them.
  place.querySelector("svg").setAttribute("aria-hidden", "true");
  const known = new Set(compiled.signals.map((signal) => signal.name));
  const plot = {
    view, place, room, known,
    set(name, value) { view.signal(name, value); return view.runAsync(); },
    figures(set, rows) { view.data(set, rows); return view.runAsync(); },
    /** Return where a value of the x axis stands, in CSS px from the left of `place`. */
    x: (value) => room.left + view.scale("x")(value),
    y: (value) => room.top + view.scale("y")(value),
    atX: (px) => view.scale("x").invert(px - room.left),
    atY: (px) => view.scale("y").invert(px - room.top),
    remove() { drawn.delete(plot); finalize(); place.replaceChildren(); },
  };
  drawn.add(plot);
  return plot;
}

function recolour() {
  const colours = palette();
  for (const { view, known } of drawn) {
    for (const [signal, colour] of Object.entries(colours)) if (known.has(signal)) view.signal(signal, colour);
    view.runAsync();
  }
}

matchMedia("(prefers-color-scheme: dark)").addEventListener("change", recolour);
matchMedia("(prefers-contrast: more)").addEventListener("change", recolour);
document.addEventListener("stillwing:theme", recolour);

/** Return the largest step of 1, 2, 5, 10 ... frames whose labels stand at least 40 px apart. */
export function labelStep(frames, width) {
  for (const step of [1, 2, 5, 10, 20, 50, 100, 200, 500]) if ((width / frames) * step >= 34) return step;
  return 1000;
}

/** Turn {column: values} into rows. */
export function rows(columns) {
  const names = Object.keys(columns);
  return columns[names[0]].map((_, i) => Object.fromEntries(names.map((name) => [name, columns[name][i]])));
}
