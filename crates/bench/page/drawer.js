// The job's text, for everything that has no field, with its faults by line and column.

import { make } from "./form.js";

/** Where in a text a line and a column (both from 1, in characters) lie. */
function offset(text, line, column) {
  const lines = text.split("\n");
  const before = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  return before + [...(lines[line - 1] ?? "")].slice(0, column - 1).join("").length;
}

export class Drawer {
  constructor(job) {
    this.job = job;
    this.dialog = document.getElementById("text-drawer");
    this.text = document.getElementById("text");
    this.place = document.getElementById("text-place");
    this.faults = document.getElementById("text-faults");
    this.text.addEventListener("input", () => job.replace(this.text.value, "text"));
    for (const event of ["keyup", "click", "focus", "select"]) this.text.addEventListener(event, () => this.tellPlace());
    document.getElementById("text-open").addEventListener("click", () => this.open());
    this.show();
  }

  open() {
    this.dialog.showModal();
    this.text.focus();
    this.tellPlace();
  }

  show() {
    if (this.text.value !== this.job.text) this.text.value = this.job.text;
  }

  tellPlace() {
    const before = this.text.value.slice(0, this.text.selectionStart).split("\n");
    this.place.textContent = `line ${before.length}, column ${[...before.at(-1)].length + 1}`;
  }

  showFaults(faults) {
    this.faults.replaceChildren(...faults.map((fault) => {
      const where = fault.line ? `line ${fault.line}, column ${fault.column}` : "";
      const words = `${fault.key ? `${fault.key}: ` : ""}${fault.text}`;
      if (!where) return make("li", {}, words);
      const go = make("button", { type: "button", class: "quiet", onclick: () => {
        const at = offset(this.text.value, fault.line, fault.column);
        this.text.focus();
        this.text.setSelectionRange(at, at);
        const height = parseFloat(getComputedStyle(this.text).lineHeight) || 20;
        this.text.scrollTop = Math.max(0, (fault.line - 4) * height);
        this.tellPlace();
      } }, where);
      return make("li", {}, go, ` ${words}`);
    }));
    this.text.toggleAttribute("aria-invalid", false);
    if (faults.length) this.text.setAttribute("aria-invalid", "true");
  }
}
