// Fields for a job's keys, built from the same table of keys that the program reads jobs by.
//
// A panel shows some keys of one object. It is built again only when what there is to show changes (a kind, the
// length of a list); a mere value is put into the field that stands there, so that focus and caret stay put.

import { at, listAt, owner, pathText } from "./job.js";

let lastId = 0;

/** A text whose characters all stand where they were written: those that would turn what follows show as unreadable. */
export const inOrder = (text) => text.replace(/[\u202A-\u202E\u2066-\u2069]/g, "\uFFFD");

/** A name among other words; one that is written from right to left leaves their order alone. */
export const called = (name) => make("bdi", {}, name);

/** A new element with attributes, properties (functions, booleans) and children. */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null) continue;
    if (typeof value === "function" || typeof value === "boolean") element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined).map((child) => (typeof child === "string" ? inOrder(child) : child)));
  return element;
}

const words = (name) => name.replaceAll("_", " ");
const title = (name) => words(name).replace(/^./, (letter) => letter.toUpperCase());

/** "a sheet", "an offcut"; lumber is no thing one counts. */
const withArticle = (name) => (name === "lumber" ? name : `${/^[aeiou]/.test(name) ? "an" : "a"} ${words(name)}`);

/** What a field shows for a value. */
function shown(value) {
  if (value === undefined || value === null) return "";
  if (Array.isArray(value)) return value.map(shown).join(value.some(Array.isArray) ? "; " : ", ");
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}

/** A plain decimal becomes a number; anything else is kept as it was typed, for the program to judge. */
function plain(text) {
  const number = Number(text);
  return Number.isFinite(number) && String(number) === text ? number : text;
}

/** The value that a typed text stands for; undefined takes the key away. */
function typed(kind, text) {
  const tidy = text.trim();
  if (tidy === "") return undefined;
  switch (kind.is) {
    case "text": return text;
    case "money": return tidy;
    case "list": {
      const inner = kind.of;
      const parts = tidy.split(inner.is === "list" ? /\s*[;\n]\s*/ : /\s*[,;\n]\s*/).filter((part) => part !== "");
      return parts.map((part) => typed(inner, part));
    }
    default: return plain(tidy);
  }
}

/** True for kinds that one line of text can hold. */
const isLine = (kind) => !["shape", "kinds"].includes(kind.is) && !(kind.is === "list" && ["shape", "kinds"].includes(kind.of.is));

/** The key of an object that a plain length stands for: the one it cannot do without. */
const mainKey = (shape) => shape.keys.find((key) => key.need === "must").name;

/** What an object of these keys needs at least, so that a new one is as whole as can be. */
function fresh(shape, names) {
  const value = {};
  for (const key of shape.keys) {
    const begin = BEGIN[shape.name]?.[key.name];
    if (begin !== undefined) value[key.name] = structuredClone(begin);
    if (begin !== undefined || key.need !== "must") continue;
    const { kind } = key;
    if (key.name === "name") value.name = names;
    else if (kind.is === "shape") value[key.name] = fresh(kind.shape, names);
    else if (kind.is === "kinds") value[key.name] = { kind: kind.kinds[0].name, ...fresh(kind.kinds[0], names) };
  }
  return value;
}

export class Panel {
  /** `pick` orders and chooses the keys of the object at `path`; `view` may say which groups stand open. */
  constructor(host, job, shape, path, { pick = null, open = true, heading = null, hide = [] } = {}) {
    Object.assign(this, { host, job, shape, path, pick, open, heading, hide });
    this.signature = null;
    this.lines = new Map();
    this.show();
  }

  keys() {
    const { keys } = this.shape;
    const chosen = this.pick ? this.pick.map((name) => keys.find((key) => key.name === name)).filter(Boolean) : keys;
    return chosen.filter((key) => !this.hide.includes(key.name));
  }

  /** Brings the fields up to the job. */
  show() {
    const signature = this.keys().map((key) => this.sign(key.kind, [...this.path, key.name])).join("|");
    if (signature !== this.signature) {
      this.signature = signature;
      const active = document.activeElement;
      const kept = this.host.contains(active) ? active.dataset.path ?? active.dataset.act : null;
      const opened = new Set([...this.host.querySelectorAll("details[data-group]")].map((d) => [d.dataset.group, d.open]).filter(([, o]) => o).map(([g]) => g));
      this.lines.clear();
      const rows = this.keys().map((key) => this.key(key, this.path));
      this.host.replaceChildren(...(this.heading ? [make("h3", {}, this.heading)] : []), ...rows);
      for (const details of this.host.querySelectorAll("details[data-group]")) if (opened.has(details.dataset.group)) details.open = true;
      if (kept) [...this.host.querySelectorAll("[data-path],[data-act]")].find((e) => (e.dataset.path ?? e.dataset.act) === kept)?.focus();
    }
    for (const fill of this.lines.values()) fill();
  }

  sign(kind, path) {
    const value = at(this.job.value, path);
    if (kind.is === "shape") return `{${kind.shape.keys.map((key) => this.sign(key.kind, [...path, key.name])).join()}}`;
    if (kind.is === "kinds") {
      const which = kind.kinds.find((shape) => shape.name === value?.kind);
      return `${pathText(path)}:${which?.name}${which ? this.sign({ is: "shape", shape: which }, path) : ""}`;
    }
    if (kind.is === "list" && !isLine(kind)) return `[${(Array.isArray(value) ? value : []).map((_, i) => this.sign(kind.of, [...path, i])).join("/")}]`;
    if (kind.is === "list" && kind.of.is === "length_or") return `[${(Array.isArray(value) ? value : []).map((_, i) => this.sign(kind.of, [...path, i])).join("/")}]`;
    if (kind.is === "length_or") return value !== null && typeof value === "object" ? "each" : "one";
    return "";
  }

  key(key, above) {
    const path = [...above, key.name];
    switch (key.kind.is) {
      case "shape": return this.group(key, path);
      case "kinds": return this.kinds(key, path);
      case "list": return key.kind.of.is === "length_or" ? this.mixed(key, path) : !isLine(key.kind) ? this.list(key, path) : this.line(key, path);
      case "word": return this.choice(key, path, key.kind.words.map((word) => [word, words(word)]));
      case "flag": return this.flag(key, path);
      case "length_or": return this.lengthOr(key, path);
      default: return this.line(key, path);
    }
  }

  group(key, path) {
    const body = key.kind.shape.keys.map((inner) => this.key(inner, path));
    const summary = make("summary", {}, make("span", {}, title(key.name)), make("small", {}, key.about));
    return make("details", { class: "group", "data-group": pathText(path) }, summary, ...body);
  }

  // One row: the name and what it means, the field, and a place for faults.
  row(key, path, field, id, { legend = false } = {}) {
    const text = pathText(path);
    const hint = make("small", { id: `${id}-hint`, class: "hint" }, key.about);
    const name = legend
      ? make("span", { class: "label", id: `${id}-label` }, title(key.name))
      : make("label", { class: "label", for: id, id: `${id}-label` }, title(key.name));
    if (key.need === "must") name.append(make("span", { class: "must", "aria-hidden": "true" }, " *"));
    const faults = make("ul", { class: "faults", id: `${id}-faults`, hidden: true });
    return make("div", { class: "row", "data-row": text }, make("div", { class: "row-name" }, name, hint), make("div", { class: "row-field" }, field), faults);
  }

  line(key, path) {
    const id = `f${++lastId}`;
    const { kind } = key;
    const numeric = ["number", "count", "money"].includes(kind.is);
    const input = make("input", {
      id, type: "text", autocomplete: "off", spellcheck: "false", autocapitalize: "off",
      inputmode: kind.is === "count" ? "numeric" : numeric ? "decimal" : undefined,
      class: ["text", "list"].includes(kind.is) ? "line" : "line figure",
      "data-path": pathText(path), "aria-describedby": `${id}-hint ${id}-faults`,
      "aria-required": key.need === "must" ? "true" : undefined,
      placeholder: key.need === "else" && !["", "{}"].includes(key.default) ? key.default : undefined,
      oninput: () => this.job.set(path, typed(kind, input.value)),
    });
    this.lines.set(input, () => {
      const value = at(this.job.value, path);
      const same = JSON.stringify(typed(kind, input.value)) === JSON.stringify(value);
      if (!same) input.value = shown(value);
    });
    return this.row(key, path, input, id);
  }

  flag(key, path) {
    const choices = [["true", "yes"], ["false", "no"]];
    return this.choice(key, path, choices, (word) => word === "true");
  }

  choice(key, path, choices, value = (word) => word) {
    const id = `f${++lastId}`;
    // Where nothing is taken for granted, saying nothing is a choice of its own.
    const all = key.need === "may" ? [["", "unsaid"], ...choices] : choices;
    const boxes = all.map(([word, name]) => {
      const box = make("input", { type: "radio", name: id, value: word, "data-path": pathText(path), onchange: () => this.job.set(path, word === "" ? undefined : value(word)) });
      this.lines.set(box, () => {
        const now = at(this.job.value, path);
        box.checked = String(now ?? (key.need === "else" ? key.default : "")) === word;
      });
      return make("label", {}, box, make("span", {}, name));
    });
    const group = make("div", { class: "choice", role: "radiogroup", id, "aria-labelledby": `${id}-label`, "aria-describedby": `${id}-hint ${id}-faults` }, ...boxes);
    return this.row(key, path, group, id, { legend: true });
  }

  kinds(key, path) {
    const { kinds } = key.kind;
    const now = at(this.job.value, path)?.kind;
    const shape = kinds.find((one) => one.name === now);
    const kindKey = { name: key.name, about: key.about, need: key.need, kind: { is: "word" } };
    const pick = (name) => this.job.change((job) => {
      owner(job, path)[path.at(-1)] = turnInto(at(job, path), kinds.find((one) => one.name === name));
    });
    const id = `f${++lastId}`;
    const boxes = kinds.map((one) => {
      const box = make("input", { type: "radio", name: id, value: one.name, "data-path": `${pathText(path)}.kind#${one.name}`, checked: one.name === now, onchange: () => pick(one.name) });
      return make("label", { title: one.about }, box, make("span", {}, words(one.name)));
    });
    if (key.need === "may") {
      const box = make("input", { type: "radio", name: id, value: "", "data-path": `${pathText(path)}.kind#`, checked: now === undefined, onchange: () => this.job.set(path, undefined) });
      boxes.unshift(make("label", {}, box, make("span", {}, "unsaid")));
    }
    const group = make("div", { class: "choice", role: "radiogroup", id, "aria-labelledby": `${id}-label`, "aria-describedby": `${id}-hint ${id}-faults` }, ...boxes);
    const row = this.row(kindKey, path, group, id, { legend: true });
    row.classList.add("row-wide");
    row.dataset.also = `${pathText(path)}.kind`;
    const inner = shape ? shape.keys.map((one) => this.key(one, path)) : [];
    return make("div", { class: "kinds", role: "group", "aria-label": title(key.name) }, row, ...inner);
  }

  lengthOr(key, path) {
    const value = at(this.job.value, path);
    if (value === null || typeof value !== "object") {
      const row = this.line(key, path);
      const split = make("button", {
        type: "button", class: "quiet small", "data-act": `each ${pathText(path)}`,
        onclick: () => this.job.change((job) => {
          const all = at(job, path) ?? key.default;
          owner(job, path)[key.name] = Object.fromEntries(key.kind.shape.keys.map((edge) => [edge.name, all]));
        }),
      }, "Each side by itself");
      row.querySelector(".row-field").append(split);
      return row;
    }
    const one = make("button", {
      type: "button", class: "quiet small", "data-act": `one ${pathText(path)}`,
      onclick: () => this.job.change((job) => {
        owner(job, path)[key.name] = Object.values(at(job, path))[0] ?? key.default;
      }),
    }, "One for all sides");
    return make("fieldset", { class: "kinds" }, make("legend", {}, title(key.name)), ...key.kind.shape.keys.map((edge) => this.key(edge, path)), one);
  }

  /** Entries that are one length each, or an object that says more. */
  mixed(key, path) {
    const value = at(this.job.value, path);
    const items = Array.isArray(value) ? value : [];
    const { shape } = key.kind.of;
    const main = mainKey(shape);
    const swap = (i, made) => this.job.change((job) => { at(job, path)[i] = made; });
    const rows = items.map((item, i) => {
      const here = [...path, i];
      const name = `${words(shape.name)} ${i + 1}`;
      const remove = make("button", { type: "button", class: "quiet small", "data-act": `remove ${pathText(here)}`, "aria-label": `Remove ${name}`, onclick: () => this.job.change((job) => {
        const all = at(job, path);
        all.splice(i, 1);
        if (all.length === 0) delete owner(job, path)[key.name];
      }) }, "Remove");
      if (item !== null && typeof item === "object") {
        const plain = make("button", { type: "button", class: "quiet small", "data-act": `plain ${pathText(here)}`, onclick: () => swap(i, at(this.job.value, here)[main] ?? "") }, `Only its ${words(main)}`);
        return make("fieldset", { class: "kinds" }, make("legend", {}, title(name)), ...shape.keys.map((inner) => this.key(inner, here)), make("div", { class: "card-tools" }, plain, remove));
      }
      const about = shape.keys.find((inner) => inner.name === main).about;
      const row = this.line({ name, about, need: "must", kind: { is: "length" } }, here);
      // An emptied field stays a faulty entry until it is filled or removed.
      const input = row.querySelector("input");
      input.oninput = () => this.job.set(here, typed({ is: "length" }, input.value) ?? "");
      const more = make("button", { type: "button", class: "quiet small", "data-act": `more ${pathText(here)}`, "aria-label": `Say more of ${name}`, onclick: () => swap(i, { [main]: at(this.job.value, here) }) }, "Say more");
      row.querySelector(".row-field").append(more, remove);
      return row;
    });
    const faults = make("ul", { class: "faults", hidden: true });
    return make("div", { class: "list", role: "group", "aria-label": title(key.name), "data-row": pathText(path) },
      make("h3", {}, title(key.name)), make("small", { class: "hint" }, key.about), faults, ...rows,
      make("button", { type: "button", class: "wide", "data-act": `add ${pathText(path)}`, onclick: () => this.job.change((job) => {
        const all = listAt(job, path);
        all.push(structuredClone(all.at(-1) ?? BEGIN[shape.name]?.[main] ?? ""));
      }) }, `Add ${withArticle(shape.name)}`));
  }

  list(key, path) {
    const value = at(this.job.value, path);
    const items = Array.isArray(value) ? value : [];
    const shape = key.kind.of.shape;
    const one = shape.name;
    const add = (made) => this.job.change((job) => {
      const all = listAt(job, path);
      all.push(made(all));
    });
    const cards = items.map((item, i) => {
      const here = [...path, i];
      const name = item?.name ?? `${words(one)} ${i + 1}`;
      const tools = make("div", { class: "card-tools" },
        make("button", { type: "button", class: "quiet small", "data-act": `copy ${pathText(here)}`, "aria-label": `Copy ${one} ${name}`, onclick: () => add(() => ({ ...structuredClone(item), name: another(items, item?.name ?? one) })) }, "Copy"),
        make("button", { type: "button", class: "quiet small", "data-act": `remove ${pathText(here)}`, "aria-label": `Remove ${one} ${name}`, onclick: () => this.job.change((job) => {
          const all = at(job, path);
          all.splice(i, 1);
          if (all.length === 0 && key.need !== "must") delete owner(job, path)[key.name];
        }) }, "Remove"));
      const head = make("span");
      this.lines.set(head, () => { head.replaceChildren(called(at(this.job.value, here)?.name ?? `${words(one)} ${i + 1}`)); });
      const line = make("small", {});
      this.lines.set(line, () => { line.textContent = inOrder(gist(at(this.job.value, here))); });
      return make("details", { class: "card", "data-group": pathText(here), open: items.length === 1 && this.open },
        make("summary", {}, head, line), ...shape.keys.map((inner) => this.key(inner, here)), tools);
    });
    const faults = make("ul", { class: "faults", hidden: true });
    return make("div", { class: "list", role: "group", "aria-label": title(key.name), "data-row": pathText(path) },
      make("h3", {}, title(key.name)), make("small", { class: "hint" }, key.about), faults, ...cards,
      make("button", { type: "button", class: "wide", "data-act": `add ${pathText(path)}`, onclick: () => add((all) => {
        const last = all.at(-1);
        return last ? { ...structuredClone(last), name: another(all, last.name ?? one) } : fresh(shape, one);
      }) }, `Add ${withArticle(one)}`));
  }
}

/**
 * Where to begin with a kind that needs more than its keys say; "size" is the largest length the object had.
 * Whatever the object says already goes before.
 */
const BEGIN = {
  chevron: { angle: 45, band: "70 mm" },
  diamond: { angle: 45, band: "70 mm" },
  straight: {},
  sunburst: { wedges: 12 },
  herringbone: { laminations: 3, length: "200 mm" },
  "running bond": { laminations: 3, length: "200 mm" },
  "basket weave": { laminations: 3, blocks: 3 },
  round: { diameter: "size" },
  oval: { length: "size", width: "size" },
  rectangle: { length: "size", width: "size" },
  "rounded rectangle": { length: "size", width: "size", radius: "40 mm" },
  polygon: { sides: 6, across_flats: "size" },
  sheet: { length: "2440 mm", width: "1220 mm", thickness: "18 mm", price: "0.00" },
  rung: { height: "140 mm" },
  lumber: { section: ["95 mm", "45 mm"], length: "2400 mm", price: "0.00" },
  base: { height: "700 mm", front_lean: 6, side_lean: 6, leg: "32 mm", top_spread: "260 mm" },
  points: { points: [["-200 mm", "-150 mm"], ["200 mm", "-150 mm"], ["150 mm", "150 mm"], ["-150 mm", "150 mm"]] },
};

/** An object of another kind that keeps what both kinds have, and is whole from the start. */
export function turnInto(was, shape) {
  // Of a plain value or a list there is nothing to keep.
  const old = was !== null && typeof was === "object" && !Array.isArray(was) ? was : {};
  const begin = BEGIN[shape.name] ?? {};
  const size = Object.values(old).find((value) => typeof value === "number" || (typeof value === "string" && /\d\s*(mm|cm|m|in|ft|"|')/.test(value))) ?? "400 mm";
  const next = { kind: shape.name };
  for (const key of shape.keys) {
    const kept = old[key.name];
    const value = kept !== undefined && fits(key.kind, kept) && key.name !== "phase" ? kept : begin[key.name] === "size" ? size : begin[key.name];
    if (value !== undefined) next[key.name] = structuredClone(value);
    else if (key.need === "must") next[key.name] = guess(key.kind);
  }
  // Bands are given by width or by number, never both.
  if (next.bands !== undefined) delete next.band;
  return next;
}

function fits(kind, value) {
  if (kind.is === "number") return typeof value === "number" && value >= kind.low && value <= kind.high;
  if (kind.is === "count") return Number.isInteger(value) && value >= kind.low && value <= kind.high;
  if (kind.is === "word") return kind.words.includes(value);
  if (kind.is === "list") return Array.isArray(value);
  return typeof value !== "object";
}

function guess(kind) {
  if (kind.is === "number") return kind.low;
  if (kind.is === "count") return Math.min(Math.max(4, kind.low), kind.high);
  if (kind.is === "word") return kind.words[0];
  return undefined;
}

/** A name no other entry has. */
function another(all, name) {
  const taken = new Set(all.map((item) => item?.name));
  const stem = String(name).replace(/ \d+$/, "");
  for (let n = 2; ; n++) if (!taken.has(`${stem} ${n}`)) return `${stem} ${n}`;
}

/** A line that tells one entry from another while it is folded. */
function gist(item) {
  if (item === null || typeof item !== "object") return "";
  const parts = [item.length, item.width, item.thickness].filter((part) => part !== undefined).map(shown);
  const size = parts.join(" × ");
  const rest = [item.outline?.diameter, item.height, item.section].filter((part) => part !== undefined).map(shown);
  const count = item.count !== undefined ? `${shown(item.count)} off` : item.price !== undefined ? shown(item.price) : "";
  return [size, ...rest, item.pattern?.kind, count].filter(Boolean).join(" · ");
}

/**
 * Puts each fault beside the field that carries its key, or the nearest that holds it, and opens what hides it.
 * Gives back the faults that found no field.
 */
export function placeFaults(root, faults) {
  for (const list of root.querySelectorAll("ul.faults")) {
    list.replaceChildren();
    list.hidden = true;
  }
  for (const field of root.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  const rows = new Map();
  for (const row of root.querySelectorAll("[data-row]")) {
    rows.set(row.dataset.row, row);
    if (row.dataset.also) rows.set(row.dataset.also, row);
  }
  const homeless = [];
  for (const fault of faults) {
    // A missing key is a fault of the object that lacks it, and the sentence begins with its name.
    const lacked = /^`([^`]+)`/.exec(fault.text)?.[1];
    let key = rows.has(`${fault.key}.${lacked}`) ? `${fault.key}.${lacked}` : fault.key;
    const exact = key;
    while (key && !rows.has(key)) key = key.replace(/(\.[^.[\]]+|\[\d+\]|^[^.[\]]+)$/, "");
    const row = rows.get(key);
    const list = row?.querySelector(":scope > ul.faults, :scope > .faults");
    if (!list) {
      homeless.push(fault);
      continue;
    }
    list.hidden = false;
    list.append(make("li", {}, key === exact ? fault.text : `${fault.key}: ${fault.text}`));
    for (const field of row.querySelectorAll(":scope > .row-field input")) field.setAttribute("aria-invalid", "true");
    for (let up = row.parentElement; up && up !== root; up = up.parentElement) if (up.tagName === "DETAILS") up.open = true;
  }
  return homeless;
}
