// The blind comparison: A and B are known, X is one of them, drawn anew in each trial by the browser's own source of
// chance. The number of trials is fixed before the first; p values are the exact ones that the program worked out.

class Blind {
  /**
   * `begin(indices)` waits until both can be heard at once.
   *
   * @param {HTMLElement} root
   * @param {SetData} set
   * @param {{ begin: (indices: number[]) => Promise<void>, end: () => void, hear: (index: number) => void }} hooks
   */
  constructor(root, set, hooks) {
    this.set = set;
    this.hooks = hooks;
    /** @type {(selector: string) => HTMLElement} */
    const part = (selector) => found(root, selector, HTMLElement);
    /** @type {(selector: string) => HTMLSelectElement} */
    const choice = (selector) => found(root, selector, HTMLSelectElement);
    /** @type {(selector: string) => HTMLButtonElement} */
    const button = (selector) => found(root, selector, HTMLButtonElement);
    /** @type {(selector: string) => HTMLElement[]} */
    const parts = (selector) => [...root.querySelectorAll(selector)].filter((node) => node instanceof HTMLElement);
    this.parts = {
      setup: part(".blind-setup"), run: part(".blind-run"), where: part("#blind-where"), result: part("#blind-result"),
      a: choice("#blind-a"), b: choice("#blind-b"), trials: choice("#blind-trials"), needed: part("#blind-needed"),
      start: button("#blind-start"), stop: button("#blind-stop"),
      ears: parts("[data-ear]"), answers: parts("[data-answer]"),
    };
    this.run = set.blind[0];
    /** The voices that A and B are, and which of the two X is in each trial. */
    this.voices = { a: set.baseline, b: set.baseline };
    /** @type {("a" | "b")[]} */
    this.hidden = [];
    this.right = 0;
    this.trial = 0;
    for (const select of [this.parts.a, this.parts.b]) {
      set.voices.forEach((voice, i) => select.append(new Option(`${voice.title} (${voice.name})`, String(i))));
    }
    set.blind.forEach((run, i) => this.parts.trials.append(new Option(String(run.trials), String(i))));
    this.parts.a.selectedIndex = set.baseline;
    this.parts.b.selectedIndex = set.voices.findIndex((_, i) => i !== set.baseline);
    this.parts.trials.selectedIndex = set.blind.findIndex((run) => run.trials >= 16);
    for (const select of [this.parts.a, this.parts.b, this.parts.trials]) {
      select.addEventListener("change", () => this.showNeeded());
    }
    this.parts.start.addEventListener("click", () => this.begin());
    this.parts.stop.addEventListener("click", () => this.end("Stopped without a result: the number of trials was fixed beforehand."));
    for (const ear of this.parts.ears) ear.addEventListener("click", () => this.hear(ear.dataset.ear ?? ""));
    for (const answer of this.parts.answers) answer.addEventListener("click", () => this.answer(answer.dataset.answer ?? ""));
    this.showNeeded();
  }

  showNeeded() {
    const run = this.set.blind[this.parts.trials.selectedIndex];
    const same = this.parts.a.value === this.parts.b.value;
    this.parts.start.disabled = same;
    this.parts.needed.textContent = same
      ? "Choose two different arrangements."
      : `${run.needed} of ${run.trials} right count as a difference heard; guessing gets there in ${percent(run.p[run.needed])} of runs.`;
  }

  async begin() {
    this.run = this.set.blind[this.parts.trials.selectedIndex];
    this.voices = { a: +this.parts.a.value, b: +this.parts.b.value };
    this.parts.start.disabled = true;
    this.parts.result.hidden = true;
    await this.hooks.begin(Object.values(this.voices));
    this.parts.start.disabled = false;
    const drawn = crypto.getRandomValues(new Uint8Array(this.run.trials));
    this.hidden = Array.from(drawn, (byte) => (byte & 1 ? "a" : "b"));
    this.right = 0;
    this.trial = 0;
    this.parts.setup.hidden = true;
    this.parts.run.hidden = false;
    this.next();
  }

  next() {
    const said = `Trial ${this.trial + 1} of ${this.run.trials}: is X ${this.nameOf("a")} (A) or ${this.nameOf("b")} (B)?`;
    this.parts.where.replaceChildren(...broken(said));
    this.parts.where.focus();
    this.hear("x");
  }

  /** @param {"a" | "b"} which */
  nameOf(which) {
    const [a, b] = [this.voices.a, this.voices.b].map((voice) => this.set.voices[voice]);
    const { title, name } = which === "a" ? a : b;
    return a.title === b.title ? `${title} (${name})` : title;
  }

  /** @param {string} ear a, b or x */
  hear(ear) {
    if (!this.running) return;
    for (const button of this.parts.ears) button.setAttribute("aria-pressed", String(button.dataset.ear === ear));
    const which = ear === "x" ? this.hidden[this.trial] : ear;
    this.hooks.hear(which === "a" ? this.voices.a : this.voices.b);
  }

  /** @param {string} which a or b */
  answer(which) {
    if (which === this.hidden[this.trial]) this.right++;
    this.trial++;
    if (this.trial < this.run.trials) return this.next();
    const p = this.run.p[this.right];
    const verdict = this.right >= this.run.needed
      ? "You heard a difference."
      : "No difference was shown. That is not proof that there is none.";
    this.end(`${this.right} of ${this.run.trials} right, p = ${p < 0.1 ? p.toPrecision(2) : p.toFixed(2)}. ${verdict}`,
      `Guessing alone is right at least that often in ${percent(p)} of runs (exact one-sided binomial).`);
  }

  get running() {
    return !this.parts.run.hidden;
  }

  /**
   * @param {string} said
   * @param {string} more
   */
  end(said, more = "") {
    this.hidden = [];
    this.parts.run.hidden = true;
    this.parts.setup.hidden = false;
    this.parts.result.hidden = false;
    this.parts.result.replaceChildren(made("p", "verdict", said), made("p", "small", more));
    this.hooks.end();
    this.parts.result.focus();
  }
}

/** @param {number} share */
function percent(share) {
  const value = 100 * share;
  return `${value >= 0.1 ? value.toFixed(value < 10 ? 1 : 0) : value.toPrecision(1)} %`;
}
