// The engine of the page's own circuits, asked by messages: what supplies the mixer.

class Calls {
  /**
   * @param {SetData} set
   * @param {string} source the engine's script
   */
  constructor(set, source) {
    this.set = set;
    /** @type {Map<number, Call>} */
    this.waiting = new Map();
    this.asked = 0;
    /** @type {Engine | null} */
    this.local = null;
    /** @type {Worker | null} */
    this.worker = null;
    try {
      const address = URL.createObjectURL(new Blob([source, "\nserve(self);"], { type: "text/javascript" }));
      const worker = new Worker(address);
      this.worker = worker;
      worker.addEventListener("message", ({ data }) => this.settle(data));
      // A worker that may not be begun tells so, and nothing else.
      worker.addEventListener("error", (event) => {
        event.preventDefault();
        this.stayHere();
      });
      worker.postMessage({ id: 0, what: "begin", given: set });
    } catch {
      this.stayHere();
    }
  }

  /** @param {Parameters<Questions["take"]>[0]} given */
  take(given) {
    return this.ask("take", given);
  }

  /** @param {Parameters<Questions["drop"]>[0]} given */
  drop(given) {
    return this.ask("drop", given);
  }

  /** @param {Parameters<Questions["weighed"]>[0]} given */
  weighed(given) {
    return this.ask("weighed", given);
  }

  /** @param {Parameters<Questions["voice"]>[0]} given */
  voice(given) {
    return this.ask("voice", given);
  }

  /** @param {Parameters<Questions["jack"]>[0]} given */
  jack(given) {
    return this.ask("jack", given);
  }

  /** @param {Parameters<Questions["piece"]>[0]} given */
  piece(given) {
    return this.ask("piece", given);
  }

  /** @param {Parameters<Questions["centroid"]>[0]} given */
  centroid(given) {
    return this.ask("centroid", given);
  }

  /** @param {Parameters<Questions["curves"]>[0]} given */
  curves(given) {
    return this.ask("curves", given);
  }

  /**
   * Returns the engine's answer to one of its methods.
   *
   * @template {keyof Questions} What
   * @param {What} what
   * @param {Parameters<Questions[What]>[0]} given
   * @returns {Promise<Awaited<ReturnType<Questions[What]>>>}
   */
  ask(what, given) {
    const id = ++this.asked;
    return new Promise((resolve, reject) => {
      this.waiting.set(id, { what, given, resolve, reject });
      this.send(id);
    });
  }

  /** @param {number} id */
  send(id) {
    const call = this.waiting.get(id);
    if (!call) return;
    const { what, given } = call;
    if (this.local) this.workOut(this.local, id, what, given);
    else this.worker?.postMessage({ id, what, given });
  }

  /** @param {{ id: number, answer?: any, refused?: string }} message */
  settle({ id, answer, refused }) {
    const call = this.waiting.get(id);
    if (!call) return;
    this.waiting.delete(id);
    if (refused === undefined) call.resolve(answer);
    else call.reject(new Error(refused));
  }

  /** Works everything out in the page, a piece at a time, what was asked before included. */
  stayHere() {
    if (this.local) return;
    this.worker?.terminate();
    this.local = new Engine(this.set);
    for (const id of this.waiting.keys()) this.send(id);
  }

  /**
   * @param {Engine} engine
   * @param {number} id
   * @param {keyof Questions} what
   * @param {any} given
   */
  async workOut(engine, id, what, given) {
    await pause();
    try {
      this.settle({ id, answer: await asked(engine, what, given) });
    } catch (error) {
      this.settle({ id, refused: reasonOf(error) });
    }
  }
}
