// What the page asks its engine, and the answers.

class Calls {
  constructor(set, source) {
    this.set = set;
    this.waiting = new Map();
    this.asked = 0;
    this.local = null;
    try {
      const address = URL.createObjectURL(new Blob([source, "\nserve(self);"], { type: "text/javascript" }));
      this.worker = new Worker(address);
      this.worker.addEventListener("message", ({ data }) => this.settle(data));
      // A worker that may not be begun tells so, and nothing else.
      this.worker.addEventListener("error", (event) => {
        event.preventDefault();
        this.stayHere();
      });
      this.worker.postMessage({ id: 0, what: "begin", given: set });
    } catch {
      this.stayHere();
    }
  }

  /** Returns the engine's answer to one of its methods. */
  ask(what, given) {
    const id = ++this.asked;
    return new Promise((resolve, reject) => {
      this.waiting.set(id, { what, given, resolve, reject });
      this.send(id);
    });
  }

  send(id) {
    const { what, given } = this.waiting.get(id);
    if (this.local) this.workOut(id, what, given);
    else this.worker.postMessage({ id, what, given });
  }

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

  async workOut(id, what, given) {
    await pause();
    try {
      this.settle({ id, answer: await this.local[what](given) });
    } catch (error) {
      this.settle({ id, refused: error.message });
    }
  }
}
