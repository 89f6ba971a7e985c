// The face of a top, drawn from its cells: every lamination with its plies, inside the outline.
//
// The plan's y runs up; SVG's runs down, so every y is turned over here and nowhere else.

const NS = "http://www.w3.org/2000/svg";

/** Thickness of one veneer of common birch plywood in millimetres: only the look of the picture rests on it. */
const VENEER = 1.4;

/** Above so many cells the plies are left out: they would be finer than the screen. */
const MOST_CELLS_WITH_PLIES = 2500;

let lastClip = 0;

export function svg(tag, attributes = {}, ...children) {
  const element = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== undefined) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

const fixed = (value) => Math.round(value * 100) / 100;
const point = ([x, y]) => `${fixed(x)} ${fixed(-y)}`;
const polygon = (corners) => `M${corners.map(point).join("L")}Z`;
const between = ([ax, ay], [bx, by], share) => [ax + (bx - ax) * share, ay + (by - ay) * share];

/** The part of a convex polygon on one side of a line: where `across` (its distance along a normal) is at least `from`. */
function cut(corners, across, from) {
  const kept = [];
  corners.forEach((corner, n) => {
    const next = corners[(n + 1) % corners.length];
    const [here, there] = [across(corner) - from, across(next) - from];
    if (here >= 0) kept.push(corner);
    if ((here > 0 && there < 0) || (here < 0 && there > 0)) kept.push(between(corner, next, here / (here - there)));
  });
  return kept;
}

/** Direction of a side in whole tenths of a degree, the same both ways. */
function direction([ax, ay], [bx, by]) {
  const tenths = Math.round((Math.atan2(by - ay, bx - ax) * 1800) / Math.PI);
  return ((tenths % 1800) + 1800) % 1800;
}

/**
 * How a band's cells lie: for each the direction of its lamination and its reach across it. Glue joints are the sides
 * that most cells of a band have in common; a lamination lies between its two.
 */
function lay(cells) {
  const weight = new Map();
  const sides = (cell) => cell.corners.map((corner, n) => [corner, cell.corners[(n + 1) % cell.corners.length]]);
  for (const cell of cells) {
    const own = new Map();
    for (const [a, b] of sides(cell)) {
      const way = direction(a, b);
      own.set(way, Math.max(own.get(way) ?? 0, Math.hypot(b[0] - a[0], b[1] - a[1])));
    }
    for (const [way, long] of own) weight.set(way, (weight.get(way) ?? 0) + long);
  }
  return cells.map((cell) => {
    const ways = sides(cell).map(([a, b]) => direction(a, b));
    const way = ways.reduce((best, one) => ((weight.get(one) ?? 0) > (weight.get(best) ?? 0) ? one : best), ways[0]);
    const turn = (way * Math.PI) / 1800;
    const across = ([x, y]) => y * Math.cos(turn) - x * Math.sin(turn);
    const spread = cell.corners.map(across);
    const joints = sides(cell).filter(([a, b]) => direction(a, b) === way).map(([a]) => across(a));
    return { cell, turn, across, low: Math.min(...spread), high: Math.max(...spread), joints };
  });
}

/** Every other veneer of a band, as path data. A lamination that the band's edge cuts off keeps the joint it still has. */
function plies(laid) {
  const thick = Math.max(...laid.map(({ low, high }) => high - low));
  const layers = Math.max(3, 2 * Math.round((thick / VENEER - 1) / 2) + 1);
  let data = "";
  for (const { cell, across, low, high, joints } of laid) {
    const bottom = high - low > thick * 0.98 || joints.some((joint) => joint - low < thick * 0.02) ? low : high - thick;
    for (let layer = 1; layer < layers; layer += 2) {
      const [from, to] = [bottom + (thick * layer) / layers, bottom + (thick * (layer + 1)) / layers];
      if (from >= high || to <= low) continue;
      const part = cut(cut(cell.corners, across, from), (corner) => -across(corner), -to);
      if (part.length > 2) data += polygon(part);
    }
  }
  return data;
}

/** Edge grain shines by its direction; a lamination's tone is one of four. */
const tone = ({ cell, turn }, names) => {
  const shine = Math.round(1.5 + 1.5 * Math.cos(2 * (turn - Math.PI / 4)));
  return `wood wood-${names.indexOf(cell.sheet) % 4} shine-${shine}${cell.lamination % 2 ? " odd" : ""}`;
};

/** Cells by band, each laid. */
function byBand(cells) {
  const bands = new Map();
  for (const cell of cells) {
    if (!bands.has(cell.band)) bands.set(cell.band, []);
    bands.get(cell.band).push(cell);
  }
  return new Map([...bands].map(([band, own]) => [band, lay(own)]));
}

/** Paths of the same tone as one. */
function tones(laid, names) {
  const data = new Map();
  for (const one of laid) {
    const name = tone(one, names);
    data.set(name, (data.get(name) ?? "") + polygon(one.cell.corners));
  }
  return [...data].map(([name, d]) => svg("path", { class: name, d }));
}

const sheetNames = (cells) => [...new Set(cells.map((cell) => cell.sheet))].sort();

/**
 * A picture of `face` = {outline, cells}. `words` names it for those who cannot see it.
 * `plain` leaves out the centre lines and the pin.
 */
export function drawFace(face, { words, plain = false }) {
  const xs = face.outline.map(([x]) => x);
  const ys = face.outline.map(([, y]) => y);
  const box = { x: Math.min(...xs), y: Math.min(...ys), X: Math.max(...xs), Y: Math.max(...ys) };
  const [wide, high] = [box.X - box.x, box.Y - box.y];
  const edge = Math.max(wide, high) * (plain ? 0.02 : 0.07);
  const line = Math.max(wide, high) / 400;
  const clip = `face-clip-${++lastClip}`;
  const picture = svg("svg", {
    viewBox: [box.x - edge, -box.Y - edge, wide + 2 * edge, high + 2 * edge].map(fixed).join(" "),
    role: "img", class: "face", "aria-label": words,
  });
  picture.append(svg("clipPath", { id: clip }, svg("path", { d: polygon(face.outline) })));
  const inside = svg("g", { "clip-path": `url(#${clip})` });
  const bands = byBand(face.cells);
  inside.append(...tones([...bands.values()].flat(), sheetNames(face.cells)));
  if (face.cells.length <= MOST_CELLS_WITH_PLIES) {
    inside.append(svg("path", { class: "veneer", d: [...bands.values()].map(plies).join("") }));
  }
  inside.append(
    svg("path", { class: "joint", d: face.cells.map((cell) => polygon(cell.corners)).join(""), "stroke-width": fixed(line * 0.6) }),
    svg("path", { class: "band-joint", d: edges(bands), "stroke-width": fixed(line * 1.5) }),
  );
  picture.append(inside);
  picture.append(svg("path", { class: "outline", d: polygon(face.outline), "stroke-width": fixed(line * 2) }));
  if (!plain) {
    const dash = [12, 2, 1.5, 2].map((n) => fixed(n * line)).join(" ");
    const [reachX, reachY] = [edge * 0.7, edge * 0.7];
    picture.append(
      svg("path", {
        class: "centre", "stroke-width": fixed(line), "stroke-dasharray": dash,
        d: `M${fixed(box.x - reachX)} 0H${fixed(box.X + reachX)}M0 ${fixed(-box.Y - reachY)}V${fixed(-box.y + reachY)}`,
      }),
      svg("circle", { class: "pin", r: fixed(line * 3), "stroke-width": fixed(line * 1.2) }),
    );
  }
  return picture;
}

/** How far bands (or blocks) are drawn apart, as a share of their distance from the centre. */
const APART = 0.16;

/**
 * The bands (or blocks) of a top before the second glue-up, drawn apart and numbered, each with the name of the slab
 * it is cut from; the outline lies over them where they would close up.
 */
export function drawBands(top, words) {
  const bands = byBand(top.face.cells);
  const slabOf = new Map(top.slabs.flatMap((slab) => slab.bands.map((band) => [band, slab.name])));
  const names = sheetNames(top.face.cells);
  const placed = [...bands].map(([band, laid]) => {
    const cells = laid.map((one) => one.cell);
    const corners = cells.flatMap((cell) => cell.corners);
    const span = (axis) => [Math.min(...corners.map((corner) => corner[axis])), Math.max(...corners.map((corner) => corner[axis]))];
    const [x, y] = [span(0), span(1)];
    const shift = [((x[0] + x[1]) / 2) * APART, top.pattern.band ? 0 : ((y[0] + y[1]) / 2) * APART];
    return { band, laid, cells, x: x.map((v) => v + shift[0]), y: y.map((v) => v + shift[1]), shift };
  });
  const [left, right] = [Math.min(...placed.map((one) => one.x[0])), Math.max(...placed.map((one) => one.x[1]))];
  const [low, high] = [Math.min(...placed.map((one) => one.y[0])), Math.max(...placed.map((one) => one.y[1]))];
  const size = Math.min((right - left) / 30, 0.55 * Math.min(...placed.map((one) => one.x[1] - one.x[0])));
  const line = (right - left) / 500;
  const room = top.pattern.band ? size * 2.2 : size;
  const picture = svg("svg", {
    viewBox: [left - size, -high - room, right - left + 2 * size, high - low + 2 * room].map(fixed).join(" "),
    role: "img", class: "face bands", "aria-label": words,
  });
  for (const { band, laid, cells, x, y, shift: [dx, dy] } of placed) {
    const group = svg("g", { transform: `translate(${fixed(dx)} ${fixed(-dy)})` });
    group.append(...tones(laid, names));
    group.append(svg("path", { class: "joint", d: cells.map((cell) => polygon(cell.corners)).join(""), "stroke-width": fixed(line) }));
    const clip = `face-clip-${++lastClip}`;
    group.append(
      svg("clipPath", { id: clip }, svg("path", { d: cells.map((cell) => polygon(cell.corners)).join("") })),
      svg("path", { class: "outline", d: polygon(top.face.outline), "clip-path": `url(#${clip})`, "stroke-width": fixed(line * 2.5) }),
    );
    picture.append(group);
    const [cx, cy] = [(x[0] + x[1]) / 2, (y[0] + y[1]) / 2];
    const write = (at, text) => picture.append(svg("text", { x: fixed(cx), y: fixed(at), "font-size": fixed(size), "text-anchor": "middle" }, text));
    if (top.pattern.band) {
      write(-high - size * 0.8, String(band));
      write(-low + size * 1.5, [shortName(slabOf.get(band)), cells[0].turned ? "over" : ""].filter(Boolean).join(" "));
    } else {
      picture.append(svg("circle", { class: "tag", cx: fixed(cx), cy: fixed(-cy), r: fixed(size * 0.75), "stroke-width": fixed(line) }));
      write(-cy + size * 0.3, String(band));
    }
  }
  return picture;
}

/** The letter of "seat, slab A"; a slab that is the only one has none. */
const shortName = (name) => /slab (\S+)$/.exec(name ?? "")?.[1] ?? "";

// The edges of bands and blocks: sides that no other cell of the same band has.
function edges(bands) {
  let data = "";
  for (const laid of bands.values()) {
    const sides = new Map();
    for (const { cell } of laid) {
      cell.corners.forEach((corner, n) => {
        const next = cell.corners[(n + 1) % cell.corners.length];
        const ends = [point(corner), point(next)].sort().join("L");
        sides.set(ends, (sides.get(ends) ?? 0) + 1);
      });
    }
    for (const [ends, times] of sides) if (times === 1) data += `M${ends}`;
  }
  return data;
}
