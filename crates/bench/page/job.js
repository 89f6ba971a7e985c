// The job as it stands: its text, the same parsed, what can be undone, and what of it is unsaved.

const MOST_STEPS = 200;
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

/**
 * What holds the last key of a path in `root`. Where a step of it is missing, or is nothing that such a key can stand in,
 * a new object or list takes its place.
 */
export function owner(root, path) {
  let place = root;
  path.slice(0, -1).forEach((key, step) => {
    const inList = typeof path[step + 1] === "number";
    if (!holds(place[key], inList)) place[key] = inList ? [] : {};
    place = place[key];
  });
  return place;
}

/** The list at a path of `root`, where a new one takes the place of anything else. */
export function listAt(root, path) {
  return owner(root, [...path, 0]);
}

const holds = (value, inList) => value !== null && typeof value === "object" && Array.isArray(value) === inList;

export class Job extends EventTarget {
  #past = [];
  #future = [];
  #last = { path: null, when: 0 };
  #drafts;

  constructor(text, drafts) {
    super();
    this.#drafts = drafts;
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
      // The last value that could be read stays on the form, but takes no change: the text would be lost by it.
      this.value ??= {};
      this.parsed = false;
    }
  }

  /**
   * Takes a whole new text: the one change that is open to a text which cannot be read. `from` names the field it comes
   * from, so that typing in one field is one step.
   */
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
    if (!this.parsed || (value === undefined && at(this.value, path) === undefined)) return;
    const next = structuredClone(this.value);
    const place = owner(next, path);
    const last = path.at(-1);
    if (value !== undefined) place[last] = value;
    else if (Array.isArray(place)) place.splice(last, 1);
    else delete place[last];
    if (value === undefined) dropEmpty(next, path.slice(0, -1));
    this.replace(write(next), pathText(path));
  }

  /** Changes the job by a function on a copy of its value; always a step of its own. */
  change(edit) {
    if (!this.parsed) return;
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
    this.#keep();
    this.dispatchEvent(new Event("saved"));
  }

  #tell(from) {
    this.#keep();
    this.dispatchEvent(new CustomEvent("change", { detail: { from } }));
  }

  // A draft is kept only while it differs from the saved job, together with the job it grew from.
  #keep() {
    if (this.isSaved) this.#drafts.drop();
    else this.#drafts.keep(this.saved, this.text);
  }
}

/** Takes objects away that have become empty, from the inside out; entries of lists stay. */
function dropEmpty(root, path) {
  for (let end = path.length; end > 0; end--) {
    const place = at(root, path.slice(0, end - 1));
    const value = place[path[end - 1]];
    if (Array.isArray(place) || Array.isArray(value) || Object.keys(value).length > 0) return;
    delete place[path[end - 1]];
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
