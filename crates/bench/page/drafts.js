// Unsaved work, kept by the browser: one draft for each page, so that no tab writes over another's.
//
// A page holds a lock of its draft's name while it is open. A draft whose lock nobody holds was left behind by a page
// that was closed or loaded again, and may be taken up by another.

const PREFIX = "stripwright draft ";
const LONGEST = 1 << 20;
/** Where a tab remembers which draft the page before this one kept. */
const BEFORE = "stripwright draft of this tab";
/** How long the page before this one may take to go. */
const PARTING_MS = 1000;

export class Drafts {
  #place;
  #key = PREFIX + crypto.randomUUID();
  #before = attempt(() => sessionStorage.getItem(BEFORE));
  /** True while what was last kept is really there. */
  kept = true;

  /** `place` names the job that the drafts are of. */
  constructor(place) {
    this.#place = place;
    attempt(() => sessionStorage.setItem(BEFORE, this.#key));
    // Held until the page goes.
    navigator.locks?.request(this.#key, () => new Promise(() => {}));
  }

  /** Keeps `text`, which grew from the job `base`. */
  keep(base, text) {
    const draft = JSON.stringify({ place: this.#place, base, text, when: Date.now() });
    this.kept = text.length <= LONGEST && attempt(() => localStorage.setItem(this.#key, draft) ?? true) === true;
    // An older state of the work would pass for the whole of it.
    if (!this.kept) this.forget(this.#key);
  }

  /** Ends this page's own draft: there is nothing unsaved. */
  drop() {
    this.forget(this.#key);
    this.kept = true;
  }

  forget(key) { attempt(() => localStorage.removeItem(key)); }

  /** The drafts that were left behind, each {key, base, text, when}: this tab's own before the others, newer ones first. */
  async left() {
    if (this.#before) await gone(this.#before);
    const held = new Set((await navigator.locks?.query())?.held.map((lock) => lock.name));
    const drafts = (attempt(() => Object.entries(localStorage)) ?? [])
      .filter(([key]) => key.startsWith(PREFIX) && !held.has(key))
      .map(([key, draft]) => ({ key, ...attempt(() => JSON.parse(draft)) }))
      .filter((draft) => draft.place === this.#place && typeof draft.text === "string");
    const own = (draft) => Number(draft.key === this.#before);
    return drafts.sort((a, b) => own(b) - own(a) || b.when - a.when);
  }
}

/** The page before this one may still be going; the same lock of a tab that was doubled stays held. */
async function gone(name) {
  await navigator.locks?.request(name, { signal: AbortSignal.timeout(PARTING_MS) }, () => {}).catch(() => {});
}

/** What `work` gives, or undefined where it fails: storage may be full or switched off, and the bench works without it. */
function attempt(work) {
  try { return work(); } catch { return undefined; }
}
