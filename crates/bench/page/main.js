// The bench: a job, the fields that change it, and the answers that follow each change.

import { Compare } from "./compare.js";
import { Drafts } from "./drafts.js";
import { Drawer } from "./drawer.js";
import { count, money } from "./figures.js";
import { Panel, called, make, placeFaults } from "./form.js";
import { Job, at, listAt } from "./job.js";
import { clearFace, showFace, showGauge, showPlan } from "./results.js";
import * as talk from "./talk.js";
import { applyTheme, toggleTheme } from "./theme.js";

// A picture follows every keystroke; a plan waits for a short rest.
const FACE_MS = 15;
const PLAN_MS = 140;

// What saving is answered with where the job file is not what the page last read or saved.
const CHANGED = 409;
const GONE = 410;

const $ = (id) => document.getElementById(id);
applyTheme();

function banner(words, ...actions) {
  $("banner").hidden = !words;
  $("banner").replaceChildren(...(words ? [make("span", {}, words), ...actions, make("button", { type: "button", class: "quiet", onclick: () => banner("") }, "Hide")] : []));
}

const after = (ms, work) => {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(work, ms);
  };
};

function download(name, blob) {
  const url = URL.createObjectURL(blob);
  const link = make("a", { href: url, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

const json = (text) => new Blob([text], { type: "application/json" });

class Page {
  /** `left` are drafts of this job that other visits left behind. */
  constructor(started, drafts, left) {
    this.started = started;
    this.which = 0;
    this.plan = null;
    this.faults = { face: [], plan: [] };
    this.drafts = drafts;
    this.job = new Job(started.job ?? started.starter, drafts);
    this.onDisk = started.job;
    this.packetSays = { words: "", text: null };
    this.left = left;
    this.greet();
    this.planner = new talk.Planner();
    this.askFace = after(FACE_MS, () => this.face());
    this.askPlan = after(PLAN_MS, () => this.seek());
    this.build();
    this.drawer = new Drawer(this.job);
    const pattern = this.shape("tops").keys.find((key) => key.name === "pattern");
    this.compare = new Compare(this.job, pattern.kind.kinds, () => this.which);
    this.job.addEventListener("change", () => this.changed());
    this.job.addEventListener("saved", () => this.tools());
    this.tools();
    this.face();
    this.seek();
  }

  /** Brings back the draft that grew from the job as it is, and offers what other drafts there are. */
  greet() {
    const base = this.job.saved;
    const last = this.left.find((draft) => draft.base === base);
    this.left = this.left.filter((draft) => draft !== last && draft.text !== base);
    if (!last) {
      if (this.left.length === 0 && this.started.job === null && this.started.job_place) banner(`There is no ${this.started.job_place} yet: saving makes it. Until then this is a job to begin with.`);
      else this.offer();
      return;
    }
    this.take(last);
    banner("Your changes from last time are back. They are not saved yet.",
      make("button", { type: "button", onclick: () => { this.job.replace(this.job.saved); this.offer(); } }, "Go back to the saved job"),
      ...(this.left.length ? [make("button", { type: "button", onclick: () => this.offer() }, "Show other unsaved changes")] : []));
  }

  /** Puts a draft in place of the job; it is this page's own from now on. */
  take(draft) {
    this.left = this.left.filter((one) => one !== draft);
    this.job.replace(draft.text);
    if (this.drafts.kept) this.drafts.forget(draft.key);
  }

  /** Offers the next draft that was left behind, or says nothing where there is none. */
  offer() {
    const [draft] = this.left;
    if (!draft) return banner("");
    const from = new Date(draft.when).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    const since = draft.base === this.job.saved ? "" : " The job file has changed since they were begun, and the page shows it as it is now.";
    banner(`There are unsaved changes from ${from}.${since}`,
      make("button", { type: "button", onclick: () => { this.take(draft); this.offer(); } }, "Take those changes"),
      make("button", { type: "button", onclick: () => { this.left.shift(); this.drafts.forget(draft.key); this.offer(); } }, "Drop them"));
  }

  key(name) { return this.started.keys.keys.find((key) => key.name === name); }
  shape(name) { const { kind } = this.key(name); return kind.is === "list" ? kind.of.shape : kind.shape; }

  build() {
    const { job } = this;
    const { keys } = this.started;
    this.title = $("job-title");
    this.title.addEventListener("input", () => job.set(["title"], this.title.value || undefined));
    this.panels = [
      new Panel($("sheet-fields"), job, keys, [], { pick: ["sheets"] }),
      new Panel($("part-fields"), job, keys, [], { pick: ["parts", "offcuts"] }),
      new Panel($("saw-fields"), job, keys, [], { pick: ["cutting"] }),
      new Panel($("base-fields"), job, keys, [], { pick: ["bases"] }),
      new Panel($("lumber-fields"), job, keys, [], { pick: ["lumber", "sticks"] }),
    ];
    // The table saw stands with the sheets it cuts; every other machine with the slabs.
    const shop = this.shape("shop");
    const saw = document.createElement("div");
    $("saw-fields").after(saw);
    saw.className = "fields";
    this.panels.push(new Panel(saw, job, shop, ["shop"], { pick: ["table_saw"] }));
    this.shopHost = make("div", { class: "fields" });
    $("slab-fields").after(this.shopHost);
    this.panels.push(new Panel(this.shopHost, job, shop, ["shop"], { pick: ["bias_saw", "planer", "sled", "glue", "clamp", "allow"], heading: "The shop" }));
    // Whatever the table of keys holds besides has its place with the packet.
    const placed = ["format", "title", "units", "shop", "sheets", "offcuts", "cutting", "tops", "parts", "lumber", "sticks", "bases"];
    const rest = make("div", { class: "fields" });
    $("packet-table").before(rest);
    this.panels.push(new Panel(rest, job, keys, [], { hide: placed }));
    const money = make("div", { class: "fields" });
    $("notes").after(money);
    this.panels.push(new Panel(money, job, shop, ["shop"], { hide: ["table_saw", "bias_saw", "planer", "sled", "glue", "clamp", "allow"], heading: "Finish, work and prices" }));
    this.topPanels = [];
    this.buildTop();
    this.wire();
  }

  /** The fields of the top that is looked at. */
  buildTop() {
    const tops = Array.isArray(this.job.value.tops) ? this.job.value.tops : [];
    this.which = Math.min(this.which, Math.max(0, tops.length - 1));
    const shape = this.shape("tops");
    const slab = ["slab", "spare", "staggered", "may_turn"];
    const path = ["tops", this.which];
    const choose = (n) => { this.which = n; this.buildTop(); this.show(); };
    const chooser = $("top-chooser");
    const active = document.activeElement?.dataset?.act;
    const tabs = (place) => tops.map((top, n) => make("button", { type: "button", class: "tab", "data-act": `${place} ${n}`, "aria-pressed": String(n === this.which), onclick: () => choose(n) }, called(top?.name || `top ${n + 1}`)));
    const add = make("button", { type: "button", class: "tab quiet", "data-act": "top add", onclick: () => {
      this.which = tops.length;
      this.job.change((job) => {
        const all = listAt(job, ["tops"]);
        const last = all.at(-1);
        const named = `${String(last?.name ?? "top").replace(/ \d+$/, "")} ${all.length + 1}`;
        all.push(last ? { ...structuredClone(last), name: named } : { name: "top", finished: "32 mm", outline: { kind: "round", diameter: "600 mm" }, pattern: { kind: "chevron", angle: 45, band: "70 mm" } });
      });
    } }, "Add a top");
    const remove = make("button", { type: "button", class: "tab quiet", "data-act": "top remove", onclick: () => this.job.change((job) => {
      job.tops.splice(this.which, 1);
      if (job.tops.length === 0) delete job.tops;
    }) }, "Remove this top");
    chooser.replaceChildren(...tabs("top"), add, ...(tops.length ? [remove] : []));
    $("slab-chooser").replaceChildren(...tabs("slab"));
    $("slab-chooser").hidden = tops.length < 2;
    if (active) [...document.querySelectorAll(".chooser [data-act]")].find((button) => button.dataset.act === active)?.focus();
    $("compare-open").hidden = tops.length === 0;
    $("top-fields").replaceChildren();
    $("slab-fields").replaceChildren();
    this.topPanels = tops.length === 0 ? [] : [
      new Panel($("top-fields"), this.job, shape, path, { pick: ["outline", "pattern", ...shape.keys.map((key) => key.name).filter((name) => !["outline", "pattern", ...slab].includes(name))] }),
      new Panel($("slab-fields"), this.job, shape, path, { pick: slab, heading: `Slabs of ${tops[this.which]?.name ?? "this top"}` }),
    ];
    this.topNames = this.namesOfTops();
  }

  namesOfTops() { return JSON.stringify([this.which, (Array.isArray(this.job.value.tops) ? this.job.value.tops : []).map((top) => top?.name)]); }

  wire() {
    const { job } = this;
    $("undo").addEventListener("click", () => job.undo());
    $("unread-open").addEventListener("click", () => this.drawer.open());
    $("redo").addEventListener("click", () => job.redo());
    $("theme").addEventListener("click", () => this.say(`${toggleTheme()} colours`));
    $("units").addEventListener("click", () => this.turnUnits());
    $("save").addEventListener("click", () => this.save());
    $("stop").addEventListener("click", () => talk.stop().catch((error) => banner(error.message)));
    $("job-download").addEventListener("click", () => download("job.json", json(job.text)));
    $("plan-download").addEventListener("click", () => this.plan && download("plan.json", json(`${JSON.stringify(this.plan.plan, null, 2)}\n`)));
    $("packet-write").addEventListener("click", (event) => this.packet(event.currentTarget, async () => (await talk.packet(job.text)).written));
    $("pdf-download").addEventListener("click", (event) => this.packet(event.currentTarget, async () => {
      download("packet.pdf", await talk.file(job.text, "packet.pdf"));
      return "";
    }));
    const place = this.started.packet_place;
    $("packet-write").hidden = !place;
    $("packet-place").textContent = place ? `The packet goes to ${place}.` : "Start the bench with --out and a folder to write the packet from here.";
    document.addEventListener("keydown", (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const key = event.key.toLowerCase();
      if (key === "s") { event.preventDefault(); this.save(); }
      if (key === "z") { event.preventDefault(); event.shiftKey ? job.redo() : job.undo(); }
      if (key === "y") { event.preventDefault(); job.redo(); }
    });
    const links = [...document.querySelectorAll(".travel a")];
    const seen = new IntersectionObserver((entries) => {
      for (const entry of entries) entry.target.dataset.seen = entry.isIntersecting ? "1" : "";
      const first = document.querySelector(".station[data-seen='1']");
      for (const link of links) {
        if (first && link.hash === `#${first.id}`) link.setAttribute("aria-current", "location");
        else link.removeAttribute("aria-current");
      }
    }, { rootMargin: "-20% 0px -60% 0px" });
    for (const station of document.querySelectorAll(".station")) seen.observe(station);
    for (const link of links) link.addEventListener("click", () => $(link.hash.slice(1)).focus({ preventScroll: true }));
    window.addEventListener("beforeunload", (event) => { if (!job.isSaved && !this.drafts.kept) event.preventDefault(); });
  }

  changed() {
    this.show();
    this.askFace();
    this.askPlan();
    document.body.classList.add("stale");
  }

  /** Brings fields, text and tools up to the job. */
  show() {
    if (this.topNames !== this.namesOfTops() || this.topPanels.length === 0) this.buildTop();
    for (const panel of [...this.panels, ...this.topPanels]) panel.show();
    this.drawer.show();
    this.tools();
    this.showFaults();
    this.showPacketSays();
    if (this.plan) this.redraw();
  }

  redraw() {
    showPlan(this.plan, this.which);
    const top = (this.faces ?? this.plan.plan.tops)[this.which];
    if (top) showFace(top, this.plan.plan.units);
  }

  tools() {
    const { job } = this;
    this.lock(!job.parsed);
    const planned = this.plan?.text === job.text;
    $("plan-download").disabled = !planned;
    $("plan-says").hidden = planned;
    $("undo").disabled = !job.canUndo;
    $("redo").disabled = !job.canRedo;
    $("save").textContent = job.isSaved && this.onDisk !== null ? "Saved" : this.started.job_place ? "Save job" : "Download job";
    $("units-word").textContent = job.value.units === "in" ? "in" : "mm";
    const title = at(job.value, ["title"]);
    if (document.activeElement !== this.title || this.title.value !== (title ?? "")) this.title.value = title ?? "";
    document.title = `${title || "Job"} · Stripwright bench`;
  }

  /** While the job's text cannot be read, nothing but that text can be changed: a field would write over it. */
  lock(locked) {
    $("unread").hidden = !locked;
    for (const host of document.querySelectorAll(".fields, .chooser")) host.inert = locked;
    for (const id of ["job-title", "units", "compare-open"]) $(id).disabled = locked;
  }

  async face() {
    try {
      const answer = await this.planner.face(this.job.text);
      if (!answer) return;
      this.faults.face = answer.faults ?? [];
      if (answer.tops) {
        this.faces = answer.tops;
        const top = answer.tops[this.which];
        if (top) showFace(top, answer.units);
        else clearFace("No top in this job: plain parts only.");
      }
    } catch (error) {
      banner(error.message);
    }
  }

  async seek() {
    const text = this.job.text;
    let best = null;
    try {
      const answer = await this.planner.plan(text, (news) => {
        best = news.best ?? best;
        document.body.classList.add("seeking");
        showGauge(news.bound, best, { running: true });
        const cash = (minor) => money(minor, this.job.value.currency);
        const least = news.bound > 0 ? `at least ${cash(news.bound)}` : "seeking the fewest sheets";
        $("proof-words").textContent = best === null ? least : `between ${cash(news.bound)} and ${cash(best)}`;
        $("stop").hidden = best === null;
      });
      if (!answer) return;
      document.body.classList.remove("seeking", "stale");
      $("stop").hidden = true;
      this.faults.plan = answer.faults ?? [];
      this.showFaults();
      if (answer.plan) {
        this.plan = { ...answer, text };
        this.faces = answer.plan.tops;
        document.body.classList.remove("faulty");
        this.redraw();
        this.tools();
        this.placeholders(answer.plan.assumed);
        const sheets = answer.plan.buy.sheets.reduce((total, one) => total + one.count, 0);
        this.say(`${count(sheets, "sheet")}, ${money(answer.plan.buy.total, answer.plan.currency)}, ${answer.plan.bound.proven ? "proven" : "not proven"}.`);
      } else {
        document.body.classList.add("faulty");
        const n = answer.faults.length;
        $("proof-words").textContent = this.plan ? `${count(n, "fault")}: the last good plan is shown` : count(n, "fault");
        this.say(`${count(n, "fault")}. ${answer.faults[0].text}`);
      }
    } catch (error) {
      document.body.classList.remove("seeking", "stale");
      document.body.classList.add("faulty");
      $("stop").hidden = true;
      $("proof-words").textContent = this.plan ? "no answer: the last good plan is shown" : "no answer";
      banner(error.message);
    }
  }

  showFaults() {
    const faults = this.faults.plan;
    const homeless = placeFaults($("stations"), faults);
    const list = $("faults");
    list.hidden = homeless.length === 0;
    list.replaceChildren(...homeless.map((fault) => {
      const other = /^tops\[(\d+)\]/.exec(fault.key);
      const words = `${fault.key ? `${fault.key}: ` : ""}${fault.text}${fault.key === "" && fault.line ? ` (line ${fault.line}, column ${fault.column})` : ""}`;
      if (other && Number(other[1]) !== this.which) {
        return make("li", {}, words, " ", make("button", { type: "button", class: "small", onclick: () => { this.which = Number(other[1]); this.buildTop(); this.show(); } }, "Show that top"));
      }
      return make("li", {}, words);
    }));
    this.drawer.showFaults(faults);
  }

  /** What the plan took where the job says nothing, shown in the empty field. */
  placeholders(assumed) {
    const taken = new Map(assumed.map((one) => [one.key, one.value]));
    for (const input of document.querySelectorAll("input[data-path]")) {
      const value = taken.get(input.dataset.path);
      if (value !== undefined && input.type === "text") input.placeholder = value;
    }
  }

  /** The other unit for bare numbers and for all results. A bare number keeps its size: its old unit is written out. */
  turnUnits() {
    const before = this.job.value.units === "in" ? "in" : "mm";
    const spell = (kind, value) => {
      if (value === undefined || value === null) return value;
      switch (kind.is) {
        case "length": case "length_or_zero": return typeof value === "number" || /^[\d.\s/]+$/.test(value) ? `${value} ${before}` : value;
        case "length_or": return typeof value === "object" ? walk(kind.shape, value) : spell({ is: "length" }, value);
        case "shape": return walk(kind.shape, value);
        case "kinds": { const shape = kind.kinds.find((one) => one.name === value.kind); return shape ? walk(shape, value) : value; }
        case "list": return Array.isArray(value) ? value.map((one) => spell(kind.of, one)) : value;
        default: return value;
      }
    };
    const walk = (shape, value) => {
      if (typeof value !== "object" || Array.isArray(value)) return value;
      for (const key of shape.keys) if (value[key.name] !== undefined) value[key.name] = spell(key.kind, value[key.name]);
      return value;
    };
    this.job.change((job) => {
      walk(this.started.keys, job);
      job.units = before === "in" ? "mm" : "in";
    });
    this.say(`Results in ${before === "in" ? "millimetres" : "inches"}`);
  }

  async save(over = false) {
    const { text } = this.job;
    if (!this.started.job_place) {
      download("job.json", json(text));
      return;
    }
    try {
      await talk.save(text, this.onDisk, over);
      this.onDisk = text;
      this.job.markSaved(text);
      this.offer();
      this.say(`Saved to ${this.started.job_place}`);
    } catch (error) {
      const again = (words) => make("button", { type: "button", onclick: () => this.save(true) }, words);
      if (error.status === GONE) banner(error.message, again("Write it again"));
      else if (error.status === CHANGED) banner(error.message, again("Write over it"), make("button", { type: "button", onclick: () => this.reload() }, "Take that one instead"));
      else banner(error.message);
    }
  }

  async reload() {
    try {
      const { job } = await talk.start();
      // Gone meanwhile: asked to save, the program says so.
      if (job === null) return this.save();
      this.onDisk = job;
      this.job.replace(job);
      this.job.markSaved(job);
      this.offer();
    } catch (error) {
      banner(error.message);
    }
  }

  /** Makes something of the packet and says what came of it. */
  async packet(button, work) {
    const { text } = this.job;
    const says = (words, of = null) => {
      this.packetSays = { words, text: of };
      this.showPacketSays();
    };
    button.disabled = true;
    says("Making it …");
    try {
      says(await work(), text);
    } catch (error) {
      says(error.message, text);
    } finally {
      button.disabled = false;
      button.focus();
    }
  }

  /** What came of the packet holds for the text it was made of. */
  showPacketSays() {
    const { words, text } = this.packetSays;
    const earlier = words !== "" && text !== null && text !== this.job.text;
    $("packet-says").textContent = earlier ? `${words} That was before the last changes of the job.` : words;
  }

  say(words) { $("says").textContent = words; }
}

try {
  const started = await talk.start();
  const drafts = new Drafts(started.job_place ?? "");
  const page = new Page(started, drafts, await drafts.left());
  document.documentElement.dataset.ready = "";
  window.addEventListener("focus", () => page.tools());
} catch (error) {
  banner(error.message);
}
