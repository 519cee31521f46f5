// Hangs cut-outs above a trace: each in a lane at the top, as near its frame as its neighbours allow, with a line down to its point.

/**
 * Return left edges for boxes of `widths` whose middles want to be at `wanted` (ascending), inside 0..room, `gap` apart.
 * Neighbours that would overlap move apart from their common middle; the whole keeps inside the room.
 */
export function spread(wanted, widths, room, gap = 4) {
  const groups = [];
  wanted.forEach((middle, i) => {
    let group = { first: i, last: i, width: widths[i], sum: middle, n: 1 };
    group.left = place(group, room);
    while (groups.length && groups.at(-1).left + groups.at(-1).width + gap > group.left) {
      const before = groups.pop();
      group = {
        first: before.first, last: i, width: before.width + gap + group.width,
        sum: before.sum + group.sum, n: before.n + group.n,
      };
      group.left = place(group, room);
    }
    groups.push(group);
  });
  const lefts = [];
  for (const group of groups) {
    let left = group.left;
    for (let i = group.first; i <= group.last; i++) { lefts[i] = left; left += widths[i] + gap; }
  }
  return lefts;
}

function place(group, room) {
  return Math.max(0, Math.min(room - group.width, group.sum / group.n - group.width / 2));
}

const SLANT = 14; // CSS px between the cut-outs and the plot, in which a line finds its way to its frame

/**
 * Hang `cuts` ({number, blur_px, element, width, height}) in the lane above `plot`.
 * Elements are made by the page; only their places are set here.
 */
export function hang(plot, cuts, layer) {
  layer.replaceChildren();
  if (!cuts.length) return;
  const room = layer.clientWidth;
  const laneHeight = plot.room.top - SLANT;
  const shrink = Math.min(1, (room - 4 * cuts.length) / cuts.reduce((sum, cut) => sum + cut.width, 0));
  const sizes = cuts.map((cut) => [cut.width * shrink, cut.height * shrink]);
  const lefts = spread(cuts.map((cut) => plot.x(cut.number)), sizes.map(([width]) => width), room);
  cuts.forEach((cut, i) => {
    const [width, height] = sizes[i];
    Object.assign(cut.element.style, {
      left: `${lefts[i]}px`, top: `${laneHeight - height}px`, width: `${width}px`, height: `${height}px`,
    });
    const x = plot.x(cut.number);
    layer.append(line(lefts[i] + width / 2, laneHeight, x, plot.room.top), line(x, plot.room.top, x, plot.y(cut.blur_px) - 9), cut.element);
  });
}

function line(fromX, fromY, toX, toY) {
  const element = document.createElement("span");
  element.className = "leader";
  const turn = Math.atan2(toY - fromY, toX - fromX) - Math.PI / 2;
  Object.assign(element.style, {
    left: `${fromX}px`, top: `${fromY}px`, height: `${toY > fromY ? Math.hypot(toX - fromX, toY - fromY) : 0}px`, transform: `rotate(${turn}rad)`,
  });
  return element;
}
