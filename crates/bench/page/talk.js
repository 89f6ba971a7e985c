// Questions to the program. A newer question of one sort ends the older one.

const api = new URL("api/", document.baseURI);
const page = crypto.randomUUID();

/** An answer that is a refusal: its message is the program's own sentence. */
export class Refused extends Error {
  constructor(status, sentence) {
    super(sentence);
    this.status = status;
  }
}

async function ask(name, body, signal) {
  let response;
  try {
    response = await fetch(new URL(name, api), body === undefined ? { signal } : {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body), signal,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, "The bench program does not answer. Is it still running where it was started?");
  }
  if (response.ok) return response;
  const told = await response.json().catch(() => ({}));
  throw new Refused(response.status, told.refused ?? `The bench refused with status ${response.status}.`);
}

export const start = async () => (await ask("start")).json();
export const save = async (job, base, over = false) => (await ask("save", { job, base, over })).json();
export const packet = async (job) => (await ask("packet", { job })).json();
export const file = async (job, name) => (await ask("file", { job, name })).blob();
export const stop = async () => (await ask("stop", { page })).json();

/** One running question at a time; resolves to null where a newer one took its place. */
class Turn {
  #abort = null;

  async take(work) {
    this.#abort?.abort();
    const mine = (this.#abort = new AbortController());
    try {
      return await work(mine.signal);
    } catch (error) {
      if (error.name === "AbortError") return null;
      throw error;
    } finally {
      if (this.#abort === mine) this.#abort = null;
    }
  }

  end() { this.#abort?.abort(); }
}

/** Patterns to set beside the one of a top: {variants} or {faults}. */
export async function variants(job, top) {
  return (await ask("variants", { job, top })).json();
}

/** A place to ask for faces and plans from; each has its own turns. */
export class Planner {
  #turn = new Turn();
  #faces = new Turn();

  constructor(name = "") { this.name = page + name; }

  /** The faces of a job's tops, without a plan: {tops} or {faults}. */
  face(job) {
    return this.#faces.take(async (signal) => (await ask("face", { page: this.name, job }, signal)).json());
  }

  /** The plan or the faults of a job; `news` hears of bound and best meanwhile. */
  plan(job, news = () => {}) {
    return this.#turn.take(async (signal) => {
      const response = await ask("plan", { page: this.name, job }, signal);
      const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
      let rest = "";
      for (;;) {
        const { done, value } = await reader.read();
        if (done) throw new Refused(0, "The bench program ended before its answer was whole.");
        rest += value;
        for (let cut = rest.indexOf("\n"); cut >= 0; cut = rest.indexOf("\n")) {
          const line = JSON.parse(rest.slice(0, cut));
          rest = rest.slice(cut + 1);
          if (line.kind === "progress") news(line);
          else if (line.kind === "overtaken") return null;
          else if (line.kind === "broken") throw new Refused(500, "The program made a mistake of its own on this job. Undo the last change, and please report the job.");
          else return line;
        }
      }
    });
  }

  end() {
    this.#turn.end();
    this.#faces.end();
  }
}
