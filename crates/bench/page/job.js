// The job as it stands: its text, the same parsed, what can be undone, and the draft the browser keeps.

const MOST_STEPS = 200;
const LONGEST_DRAFT = 1 << 20;
// Changes of one field closer together than this are one step to undo.
const ONE_STEP_MS = 1200;

/** "tops[0].outline.diameter" from ["tops", 0, "outline", "diameter"]. */
export function pathText(path) {
  return path.map((key, at) => (typeof key === "number" ? `[${key}]` : at ? `.${key}` : key)).join("");
}

/** The reverse of `pathText`. */
export function pathKeys(text) {
  const keys = [];
  for (const [, name, number] of text.matchAll(/([^.[\]]+)|\[(\d+)\]/g)) keys.push(number === undefined ? name : Number(number));
  return keys;
}

/** The value at a path, or undefined where any step of it is missing. */
export function at(value, path) {
  for (const key of path) {
    if (value === null || typeof value !== "object") return undefined;
    value = value[key];
  }
  return value;
}

export class Job extends EventTarget {
  #past = [];
  #future = [];
  #last = { path: null, when: 0 };
  #draft;

  constructor(text, draftName) {
    super();
    this.#draft = draftName;
    this.saved = text;
    this.#take(text);
  }

  #take(text) {
    this.text = text;
    try {
      const value = JSON.parse(text);
      if (value === null || typeof value !== "object" || Array.isArray(value)) throw new Error("not an object");
      this.value = value;
      this.parsed = true;
    } catch {
      // The last value that could be read stays on the form; the text drawer and the faults say what is wrong.
      this.value ??= {};
      this.parsed = false;
    }
  }

  /** Takes a whole new text. `from` names the field it comes from, so that typing in one field is one step. */
  replace(text, from = null) {
    if (text === this.text) return;
    const now = performance.now();
    const same = from !== null && from === this.#last.path && now - this.#last.when < ONE_STEP_MS;
    if (!same) {
      this.#past.push(this.text);
      if (this.#past.length > MOST_STEPS) this.#past.shift();
    }
    this.#last = { path: from, when: now };
    this.#future = [];
    this.#take(text);
    this.#tell(from);
  }

  /** Sets one value; `undefined` takes the key away, and objects that become empty by it go too. */
  set(path, value) {
    const next = structuredClone(this.value);
    let place = next;
    const trail = [];
    for (const [step, key] of path.slice(0, -1).entries()) {
      if (place[key] === null || typeof place[key] !== "object") {
        if (value === undefined) return;
        place[key] = typeof path[step + 1] === "number" ? [] : {};
      }
      trail.push([place, key]);
      place = place[key];
    }
    const last = path.at(-1);
    if (value !== undefined) place[last] = value;
    else if (Array.isArray(place)) place.splice(last, 1);
    else delete place[last];
    if (value === undefined) {
      for (const [owner, key] of trail.reverse()) {
        const emptied = !Array.isArray(owner[key]) && Object.keys(owner[key]).length === 0;
        if (!emptied || Array.isArray(owner)) break;
        delete owner[key];
      }
    }
    this.replace(write(next), pathText(path));
  }

  /** Changes the job by a function on a copy of its value; always a step of its own. */
  change(edit) {
    const next = structuredClone(this.value);
    edit(next);
    this.#last = { path: null, when: 0 };
    this.replace(write(next));
  }

  get canUndo() { return this.#past.length > 0; }
  get canRedo() { return this.#future.length > 0; }
  get isSaved() { return this.text === this.saved; }

  undo() { this.#travel(this.#past, this.#future); }
  redo() { this.#travel(this.#future, this.#past); }

  #travel(from, to) {
    if (from.length === 0) return;
    to.push(this.text);
    this.#last = { path: null, when: 0 };
    this.#take(from.pop());
    this.#tell(null);
  }

  /** Notes that `text` is now on disk. */
  markSaved(text) {
    this.saved = text;
    this.#keepDraft();
    this.dispatchEvent(new Event("saved"));
  }

  #tell(from) {
    this.#keepDraft();
    this.dispatchEvent(new CustomEvent("change", { detail: { from } }));
  }

  // A draft is kept only while it differs from the saved job, together with the job it grew from.
  #keepDraft() {
    try {
      if (this.isSaved || this.text.length > LONGEST_DRAFT) localStorage.removeItem(this.#draft);
      else localStorage.setItem(this.#draft, JSON.stringify({ base: this.saved, text: this.text }));
    } catch {
      // Storage may be full or switched off; the bench works without it.
    }
  }

  /** The draft an earlier visit left, if it grew from the job as it is now. */
  static draft(name, base) {
    try {
      const kept = JSON.parse(localStorage.getItem(name));
      return kept && kept.base === base && typeof kept.text === "string" ? kept.text : null;
    } catch {
      return null;
    }
  }
}

/** A job as text: two spaces, short lists of plain values on one line. */
export function write(value) {
  const text = JSON.stringify(value, null, 2);
  return text.replace(/\[\n\s+([^[\]{}]*?)\n\s+\]/g, (whole, inner) => {
    const line = inner.split(/,\n\s+/).join(", ");
    return line.length <= 60 ? `[${line}]` : whole;
  }) + "\n";
}
