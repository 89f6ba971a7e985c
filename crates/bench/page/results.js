// A plan's results, put where the material passes: figures, tables, drawings, steps.

import { drawBands, drawFace } from "./face.js";
import { area, count, length, mass, money, number, percent } from "./figures.js";
import { called, inOrder, make } from "./form.js";

const $ = (id) => document.getElementById(id);
const sum = (list, of) => list.reduce((total, one) => total + of(one), 0);

/** The size of an outline in words. */
export function outlineWords(outline, units) {
  const show = (mm) => length(mm, units);
  switch (outline.kind) {
    case "round": return `${show(outline.diameter)} round`;
    case "oval": return `${length(outline.length, units, { unit: false })} × ${show(outline.width)} oval`;
    case "rectangle": return `${length(outline.length, units, { unit: false })} × ${show(outline.width)}`;
    case "polygon": return `${outline.sides} sides, ${show(outline.across_flats)} across`;
    default: return "free outline";
  }
}

/** A pattern in words: "chevron 45°". */
export const patternWords = (pattern) => [pattern.kind, pattern.angle ? `${number(pattern.angle)}°` : "", pattern.wedges ? `${pattern.wedges} wedges` : ""].filter(Boolean).join(" ");

/** What the second glue-up joins. */
const pieceWord = ({ kind }) => ({ straight: "slab", sunburst: "wedge", herringbone: "block", "running bond": "block", "basket weave": "block" })[kind] ?? "band";

/** The picture of one top; `top` comes from a plan or from the faces alone, which hold the same keys. */
export function showFace(top, units) {
  const cells = top.face.cells.length;
  const words = `${top.name}: ${patternWords(top.pattern)}, ${outlineWords(top.outline, units)}, ${count(top.bands, pieceWord(top.pattern))}, ${count(cells, "lamination")}`;
  $("face").replaceChildren(drawFace(top.face, { words }));
  const parts = [patternWords(top.pattern), outlineWords(top.outline, units), `${length(top.finished, units)} thick`, count(top.bands, pieceWord(top.pattern)), `${count(cells, "lamination")} in the face`];
  $("face-words").textContent = parts.join(" · ");
  $("line-top").textContent = `${patternWords(top.pattern)}, ${outlineWords(top.outline, units)}`;
}

export function clearFace(words) {
  $("face").replaceChildren(make("p", { class: "waiting" }, words));
  $("face-words").textContent = "";
  $("line-top").textContent = "–";
}

/** Bound and best while a search runs: how near they are, as a line that fills. */
export function showGauge(bound, best, { proven = false, running = false } = {}) {
  const gauge = $("gauge");
  const low = best ? best * 0.8 : 0;
  const share = proven ? 1 : best ? Math.max(0.04, Math.min(0.98, (bound - low) / (best - low))) : 0;
  gauge.style.setProperty("--share", String(share));
  gauge.classList.toggle("proven", proven);
  gauge.classList.toggle("running", running);
}

/** A table; a cell is a text, or a list of texts and elements. */
function table(heads, rows, caption) {
  const align = (i) => (heads[i].startsWith("#") ? { class: "figure" } : {});
  return make("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": caption }, make("table", {},
    make("caption", {}, caption),
    make("thead", {}, make("tr", {}, ...heads.map((head, i) => make("th", { scope: "col", ...align(i) }, head.replace("#", ""))))),
    make("tbody", {}, ...rows.map((row) => make("tr", {}, ...row.map((cell, i) => (i === 0 ? make("th", { scope: "row" }, ...[cell].flat()) : make("td", align(i), ...[cell].flat()))))))));
}

const facts = (rows) => make("dl", { class: "figures" }, ...rows.map(([term, value]) => make("div", {}, make("dt", {}, ...[term].flat()), make("dd", {}, value))));

/** Drawings come as SVG text from the program's own drawing code; they are read as XML, so nothing in them runs. */
function drawing({ title, svg }) {
  const parsed = new DOMParser().parseFromString(inOrder(svg), "image/svg+xml").documentElement;
  if (parsed.nodeName !== "svg") return make("p", { class: "waiting" }, "This drawing could not be read.");
  return figure(document.importNode(parsed, true), title);
}

/** A picture with a button that shows it as large as the window; `words` are texts and elements. */
function figure(picture, title, words = []) {
  const paper = make("div", { class: "paper" }, picture);
  const larger = make("button", { type: "button", class: "quiet small", "aria-label": `Enlarge ${title}`, onclick: () => enlarge(picture, paper, title) }, "Enlarge");
  return make("figure", { class: "drawing" }, paper, make("figcaption", {}, make("span", {}, ...words), larger));
}

/** Of many drawings the first and the last stand open; those between are folded away, unless they stood open before. */
function fold(station, figures) {
  const [first, last] = [2, 2];
  if (figures.length <= first + last + 1) return figures;
  const group = `drawings ${station}`;
  const was = document.querySelector(`details[data-group="${group}"]`)?.open ?? false;
  const between = figures.slice(first, -last);
  const more = make("details", { class: "group", "data-group": group, open: was }, make("summary", {}, make("span", {}, `${between.length} more drawings`), make("small", {}, "of the same kind")), ...between);
  return [...figures.slice(0, first), more, ...figures.slice(-last)];
}

/** Moves a picture into the large window and back when that is closed. */
function enlarge(picture, home, title) {
  const dialog = $("zoom");
  $("zoom-head").textContent = title;
  $("zoom-paper").replaceChildren(picture);
  dialog.addEventListener("close", () => home.append(picture), { once: true });
  dialog.showModal();
}

/** Everything a plan says, for the top whose number is `n`. */
export function showPlan({ plan, drawings }, n) {
  const units = plan.units;
  const cash = (minor) => money(minor, plan.currency);
  const sheets = sum(plan.buy.sheets, (one) => one.count);
  $("sum-sheets").textContent = String(sheets);
  $("sum-money").textContent = cash(plan.buy.total);
  $("stop").hidden = true;
  showGauge(plan.bound.money, plan.buy.total, { proven: plan.bound.proven });
  $("proof-words").textContent = plan.bound.proven ? "proven: no plan buys for less" : `at least ${cash(plan.bound.money)}, ${percent(plan.bound.gap)} apart`;

  const at = (station) => fold(station, (drawings ?? []).filter((one) => one.station === station && (one.top ?? n) === n).map(drawing));
  const top = plan.tops[n] ?? plan.tops[0];

  // Slab and bands.
  const slabs = plan.tops.flatMap((one) => one.slabs);
  const strips = sum(plan.tops, (one) => one.strips_total);
  $("line-slab").textContent = slabs.length ? `${count(strips, "strip")}, ${count(sum(slabs, (one) => one.times), "slab")}` : "no tops";
  $("slab-drawings").replaceChildren(...(top ? [bandFigure(top)] : []), ...at("slab"));
  $("slab-table").replaceChildren(...(top ? slabWords(top, units) : [make("p", { class: "waiting" }, "No top, so no slab.")]));

  // Sheets.
  $("line-sheets").textContent = `${count(sheets, "sheet")}, ${cash(plan.buy.total)}`;
  const bought = [
    ...plan.buy.sheets.map((one) => [called(one.name), String(one.count), cash(one.price), cash(one.price * one.count)]),
    ...plan.buy.lumber.map((one) => [[called(one.name), `, ${length(one.length, units)}`], String(one.count), cash(one.price), cash(one.price * one.count)]),
  ];
  $("buy-table").replaceChildren(
    table(["Buy", "#How many", "#Each", "#Together"], bought, "What to buy"),
    ...choiceWords(plan, cash), ...useBar(plan));
  $("sheet-drawings").replaceChildren(...at("sheets"));

  // Base.
  const bases = plan.bases ?? [];
  $("line-base").replaceChildren(...(bases.length ? inRow(bases.map((one) => [`${one.count} × `, called(one.name)])) : ["none"]));
  $("base-drawings").replaceChildren(...(bases.length ? at("base") : [make("p", { class: "waiting paper" }, "No base in this job.")]));
  $("base-table").replaceChildren(...bases.map((one) => baseWords(one, units)), ...stickWords(plan, units));

  // Packet.
  $("line-packet").textContent = count(plan.steps.length, "step");
  $("steps").replaceChildren(...stepList(plan));
  const glue = plan.tops.flatMap((one) => one.glue);
  $("packet-table").replaceChildren(facts([
    ["To buy", cash(plan.buy.total)],
    ...(glue.length ? [["Glue", `${mass(sum(glue, (one) => one.grams))} on ${area(sum(glue, (one) => one.area))}`]] : []),
    ...plan.tops.filter((one) => one.mass).map((one) => [["One ", called(one.name)], mass(one.mass)]),
    ["Ways to cut a sheet", String(plan.layouts.length)],
    ...(plan.prices?.minutes ? [["Work", hours(plan.prices.minutes)]] : []),
  ]), ...priceWords(plan, cash));
  $("notes").replaceChildren(...notes(plan));
}

function bandFigure(top) {
  const blocks = !top.pattern.band;
  const pieces = `${count(top.bands, pieceWord(top.pattern))} of `;
  const after = " before the second glue-up";
  const words = `${pieces}${top.name}${after}`;
  const slabs = top.slabs.length > 1 ? "the slab it is cut from, and " : "";
  const legend = blocks ? "" : ` Above: its number from the left. Below: ${slabs}whether it is turned over.`;
  return figure(drawBands(top, words), words, [pieces, called(top.name), `${after}.${legend}`]);
}

function slabWords(top, units) {
  const show = (mm) => length(mm, units);
  const rows = top.slabs.map((slab) => [
    called(slab.name), `${slab.times}`, runs(slab.bands), String(sum(slab.strips, (one) => one.count)),
    `${[...new Set(slab.strips.map((one) => one.length))].sort((a, b) => b - a).map((mm) => length(mm, units, { unit: false })).join(", ")} ${units}`, show(slab.breadth), show(slab.length),
  ]);
  const joints = top.glue.map((one) => [`Gluing ${one.stage}`, `${mass(one.grams)}, ${count(one.joints, "joint")}, ${count(one.glue_ups, "glue-up")}`]);
  const planing = top.planer.map((one) => [`Planing ${one.stage}`, `${show(one.from)} to ${show(one.to)}, ${count(one.passes, "pass", "passes")}`]);
  return [
    facts([["Strips", `${top.strips_total}, ripped ${show(top.depth)} wide`], ...joints, ...planing]),
    ...(top.flatten?.length ? [make("ul", { class: "remarks" }, ...top.flatten.map((line) => make("li", {}, line)))] : []),
    table(["Slab", "#Times", "Bands", "#Strips", "Strip lengths", "#Breadth", "#Length"], rows, `Slabs of ${top.name}`),
  ];
}

/** 1, 2, 3, 5 as "1–3, 5". */
function runs(numbers) {
  const parts = [];
  for (const n of numbers) {
    const last = parts.at(-1);
    if (last && n === last[1] + 1) last[1] = n;
    else parts.push([n, n]);
  }
  return parts.map(([a, b]) => (a === b ? `${a}` : `${a}–${b}`)).join(", ");
}

function choiceWords(plan, cash) {
  const choice = plan.bound.slab_choice;
  if (!choice || choice.saved_money <= 0) return [];
  return [make("p", { class: "remark" }, `Choosing the slabs together with the sheets saves ${cash(choice.saved_money)}: one fixed slab size would take ${count(choice.fixed_sheets, "sheet")} for ${cash(choice.fixed_money)}.`)];
}

// Where the bought area goes, as one bar and its words.
function useBar(plan) {
  const stages = plan.ledger.filter((stage) => stage.unit === "mm2" && stage.input > 0);
  if (stages.length === 0) return [];
  const input = sum(stages, (stage) => stage.input);
  const parts = new Map([["pieces", sum(stages, (stage) => stage.output)]]);
  for (const loss of stages.flatMap((stage) => stage.lost)) parts.set(loss.cause, (parts.get(loss.cause) ?? 0) + loss.amount);
  const shown = [...parts].filter(([, amount]) => amount / input > 0.0005);
  const bar = make("div", { class: "bar", "aria-hidden": "true" }, ...shown.map(([, amount], i) => {
    const part = make("span", { class: `part part-${i}` });
    part.style.flexGrow = String(amount / input);
    return part;
  }));
  const key = make("ul", { class: "bar-key" }, ...shown.map(([name, amount], i) => make("li", {}, make("span", { class: `swatch part-${i}`, "aria-hidden": "true" }), `${name.replaceAll("_", " ")} ${percent(amount / input)}`)));
  return [make("h3", {}, "Where the sheets go"), bar, key];
}

function baseWords(base, units) {
  const show = (mm) => length(mm, units);
  const { legs } = base;
  const degrees = (value) => `${number(value, 2)}°`;
  const settings = (list) => list.map((one) => [one.laying, degrees(one.turn), degrees(one.tilt)]);
  return make("section", {}, make("h3", {}, `${base.count} × `, called(base.name)),
    facts([
      ["Height under the top", show(base.height)],
      ["Lean from the front and the side", `${degrees(base.front_lean)}, ${degrees(base.side_lean)}`],
      ["Legs", `${length(legs.section[0], units, { unit: false })} × ${show(legs.section[1])}, ${show(legs.length)} long`],
      ...base.rungs.map((rung) => [["Rung ", called(rung.name), `, ${rung.sides}`], `top edge ${show(rung.top_length)}, bottom edge ${show(rung.bottom_length)}`]),
    ]),
    table(["Legs lie with", "#Saw turned", "#Blade tilted"], settings(legs.settings), `Saw settings for the legs of ${base.name}`),
    ...base.rungs.map((rung) => table(["Rung lies with", "#Saw turned", "#Blade tilted"], settings(rung.settings), `Saw settings for rung ${rung.name}`)),
    make("p", {}, legs.plain_pair),
    ...(base.warnings.length ? [make("ul", { class: "remarks" }, ...base.warnings.map((line) => make("li", {}, line)))] : []));
}

/** Neighbours that read the same as one, each [how many times or nothing, name, the rest]: "3 × leg 700 mm, rung 300 mm". */
function alike(parts) {
  const runs = [];
  for (const [name, rest] of parts) {
    const last = runs.at(-1);
    if (last?.name === name && last.rest === rest) last.times += 1;
    else runs.push({ name, rest, times: 1 });
  }
  return inRow(runs.map(({ name, rest, times }) => [times > 1 ? `${times} × ` : "", called(name), rest]));
}

/** Texts and elements of several things as those of one, with commas between the things. */
const inRow = (things) => things.flatMap((parts, n) => (n ? [", ", ...parts] : parts));

function stickWords(plan, units) {
  if (plan.sticks.length === 0) return [];
  const rows = plan.sticks.map((stick) => [called(stick.lumber), String(stick.times), alike(stick.pieces.map((piece) => [piece.part, ` ${length(piece.length, units)}`])), length(stick.offcut, units)]);
  return [table(["Stick", "#Times", "Cut in this order", "#Left over"], rows, "How the sticks are cut")];
}

function stepList({ steps, cautions = [] }) {
  // A step that stands open stays open in the next plan.
  const opened = new Set([...$("steps").querySelectorAll("details[open]")].map((one) => one.dataset.group));
  if (steps.length === 0) return [make("p", { class: "waiting" }, "No steps yet.")];
  return [make("ol", { class: "steps" }, ...steps.map((step) => make("li", {}, make("details", { class: "group", "data-group": `step ${step.id}`, open: opened.has(`step ${step.id}`) },
    make("summary", {}, make("span", {}, `${step.number} ${step.title}`, ...(step.of ? [" (", called(step.of), ")"] : [])), make("small", {}, [step.minutes ? `${number(step.minutes, 0)} min` : "", step.wait ? `then wait ${hours(step.wait)}` : ""].filter(Boolean).join(", "))),
    ...(step.settings.length ? [facts(step.settings.map((one) => [one.name, one.value]))] : []),
    ...step.text.map((line) => make("p", {}, line)),
    ...cautions.filter((one) => one.step === step.number).map((one) => make("p", { class: "caution" }, make("strong", {}, `${one.title}. `), one.text.join(" ")))))))];
}

const hours = (minutes) => `${Math.floor(minutes / 60)} h ${String(Math.round(minutes % 60)).padStart(2, "0")} min`;

function priceWords(plan, cash) {
  const { prices } = plan;
  if (!prices?.quotes?.length) return [];
  const groups = new Map();
  for (const line of prices.lines) groups.set(line.group, (groups.get(line.group) ?? 0) + line.amount);
  const rows = [...groups].map(([group, amount]) => [group, cash(amount)]);
  return [
    table(["What", "#Cost"], [...rows, [`margin, ${number(prices.margin_percent)} %`, cash(prices.margin)], ["together", cash(prices.total)]], "What it costs"),
    table(["For", "#One", "#All"], prices.quotes.map((one) => [[`${one.count} × `, called(one.name)], cash(one.one), cash(one.total)]), "What to ask for it"),
  ];
}

function notes(plan) {
  const parts = [];
  if (plan.limits?.length) parts.push(make("h3", {}, "Limits that were met"), make("ul", { class: "remarks" }, ...plan.limits.map((line) => make("li", {}, line))));
  if (plan.notes.length) parts.push(make("h3", {}, "Before you start"), make("ul", { class: "remarks" }, ...plan.notes.map((note) => make("li", {}, note))));
  if (plan.assumed.length) {
    parts.push(make("details", { class: "group" }, make("summary", {}, make("span", {}, "What the job leaves unsaid"), make("small", {}, `${plan.assumed.length} values taken as usual`)),
      table(["Key", "Taken as"], plan.assumed.map((one) => [one.key, one.value]), "Values taken where the job says nothing")));
  }
  return parts;
}
