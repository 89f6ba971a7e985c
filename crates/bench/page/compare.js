// Patterns side by side on the same outline: what each looks like, buys, glues and wastes.

import { drawFace } from "./face.js";
import { area, count, length, mass, money, percent } from "./figures.js";
import { make, turnInto } from "./form.js";
import { write } from "./job.js";
import { patternWords } from "./results.js";
import { Planner, variants as askVariants } from "./talk.js";

const sum = (list, of) => list.reduce((total, one) => total + of(one), 0);

export class Compare {
  /** `kinds` are the shapes of `tops[].pattern`; `which()` is the number of the top on the page. */
  constructor(job, kinds, which) {
    Object.assign(this, { job, kinds, which });
    this.dialog = document.getElementById("compare");
    this.tiles = document.getElementById("tiles");
    this.planners = [];
    document.getElementById("compare-open").addEventListener("click", () => this.open());
    this.dialog.addEventListener("close", () => this.planners.forEach((planner) => planner.end()));
  }

  async open() {
    const n = this.which();
    const now = this.job.value.tops?.[n]?.pattern;
    if (!now) return;
    const variants = [now, ...await this.others(now, n)];
    this.planners = variants.map((_, i) => new Planner(`/${i}`));
    this.tiles.replaceChildren(...variants.map((pattern, i) => this.tile(pattern, i, n, i === 0)));
    this.dialog.showModal();
  }

  // The same that the command line compares, without the one that is there already; where the job is faulty, the kinds.
  async others(now, n) {
    const answer = await askVariants(this.job.text, n).catch(() => ({}));
    const list = answer.variants?.map((one) => one.pattern) ?? this.kinds.filter((shape) => shape.name !== now.kind).map((shape) => turnInto(now, shape));
    return list.filter((pattern) => pattern.kind !== now.kind || (pattern.angle !== undefined && pattern.angle !== now.angle));
  }

  tile(pattern, i, n, isNow) {
    const name = patternWords(pattern);
    const head = make("h3", { id: `tile-${i}` }, name);
    const picture = make("div", { class: "paper" }, make("span", { class: "waiting" }, "drawing …"));
    const list = make("dl", { class: "figures" });
    const pick = make("button", { type: "button", class: isNow ? "wide" : "wide main", disabled: isNow, onclick: () => {
      this.job.change((job) => { job.tops[n].pattern = pattern; });
      this.dialog.close();
    } }, isNow ? "In the job now" : "Take this pattern");
    pick.setAttribute("aria-describedby", `tile-${i}`);
    const says = make("p", { class: "tile-says", role: "status" }, "seeking the fewest sheets …");
    const tile = make("article", { class: isNow ? "tile now" : "tile", "aria-labelledby": `tile-${i}` }, head, picture, list, says, pick);
    this.fill(pattern, i, n, { picture, list, says, pick, name });
    return tile;
  }

  async fill(pattern, i, n, { picture, list, says, pick, name }) {
    const job = structuredClone(this.job.value);
    job.tops[n].pattern = pattern;
    const draw = (top) => picture.replaceChildren(drawFace(top.face, { words: `Face in ${name}`, plain: true }));
    let answer;
    try {
      const faces = await this.planners[i].face(write(job));
      if (faces?.tops) draw(faces.tops[n]);
      answer = await this.planners[i].plan(write(job));
    } catch (error) {
      answer = { faults: [{ text: error.message }] };
    }
    if (!answer) return;
    if (answer.faults) {
      picture.querySelector(".waiting")?.replaceWith(make("span", { class: "waiting" }, "no picture"));
      says.textContent = answer.faults.map((fault) => fault.text).join(" ");
      says.classList.add("fault");
      pick.disabled = true;
      return;
    }
    const { plan } = answer;
    const top = plan.tops[n];
    const waste = sum(plan.ledger, (stage) => (stage.unit === "mm2" ? stage.input : 0));
    const used = sum(plan.ledger, (stage) => (stage.unit === "mm2" ? stage.output : 0));
    const rows = [
      ["Sheets", count(sum(plan.buy.sheets, (one) => one.count), "sheet")],
      ["Material", money(plan.buy.total, plan.currency)],
      ["Strips", String(top.strips_total)],
      ["Rip width", length(top.depth, plan.units)],
      ["Glue joints", area(sum(top.glue, (one) => one.area))],
      ["Glue", mass(sum(top.glue, (one) => one.grams))],
      ["Of the sheets wasted", waste ? percent(1 - used / waste) : "–"],
    ];
    list.replaceChildren(...rows.map(([term, value]) => make("div", {}, make("dt", {}, term), make("dd", {}, value))));
    says.textContent = plan.bound.proven ? "Proven: no plan buys for less." : `At least ${money(plan.bound.money, plan.currency)}; not proven.`;
  }
}
