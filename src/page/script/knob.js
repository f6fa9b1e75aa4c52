// A knob: turned by dragging up and down, by the arrow keys, by page up and down; a double click puts it back.

/** Degrees from the bottom at which a knob begins and ends. */
const SWEEP = [30, 330];

class Knob {
  /**
   * @param {KnobOptions} options
   * @param {() => void} onturn
   */
  constructor(options, onturn) {
    this.options = options;
    this.onturn = onturn;
    this.value = options.value;
    this.home = options.value;
    this.disabled = false;
    const { label, min, max } = options;
    this.face = made("div", "knob");
    this.face.tabIndex = 0;
    this.face.setAttribute("role", "slider");
    this.face.setAttribute("aria-label", label);
    this.face.setAttribute("aria-valuemin", String(min));
    this.face.setAttribute("aria-valuemax", String(max));
    this.pointer = drawn("path", { class: "pointer", d: "M50 50V24" });
    this.face.append(drawn("svg", { viewBox: "0 0 100 100", "aria-hidden": "true" },
      ...this.scale(), drawn("circle", { class: "skirt", cx: 50, cy: 50, r: 31 }),
      drawn("circle", { class: "cap", cx: 50, cy: 50, r: 24 }), this.pointer));
    this.text = made("output", "");
    this.root = made("div", "dial", this.face, made("span", "dial-name", label), this.text);
    this.listen();
    this.show();
  }

  scale() {
    const { marks, min, max } = this.options;
    return marks.flatMap((mark, i) => {
      const angle = this.angle(min + (max - min) * i / (marks.length - 1));
      const line = drawn("path", { class: "tick", d: "M50 14V10", transform: `rotate(${angle} 50 50)` });
      const [x, y] = [50 + 45 * Math.sin(angle * Math.PI / 180), 50 - 45 * Math.cos(angle * Math.PI / 180)];
      const text = drawn("text", { class: "mark", x: x.toFixed(1), y: (y + 2.4).toFixed(1) }, mark);
      return [mark === "" ? line : text];
    });
  }

  /**
   * The pointer's angle at `value`, 0 being straight up.
   *
   * @param {number} value
   */
  angle(value) {
    const { min, max } = this.options;
    const share = (value - min) / (max - min);
    return SWEEP[0] + (SWEEP[1] - SWEEP[0]) * share - 180;
  }

  listen() {
    const { step, page, min, max } = this.options;
    /** @type {Record<string, number>} */
    const keys = {
      ArrowUp: step, ArrowRight: step, ArrowDown: -step, ArrowLeft: -step,
      PageUp: page, PageDown: -page, Home: -Infinity, End: Infinity,
    };
    this.face.addEventListener("keydown", (event) => {
      if (!(event.key in keys) || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      this.turn(this.value + keys[event.key]);
    });
    /** @type {{ x: number, y: number, value: number } | null} */
    let grip = null;
    this.face.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      this.face.setPointerCapture(event.pointerId);
      this.face.focus();
      grip = { y: event.clientY, x: event.clientX, value: this.value };
    });
    this.face.addEventListener("pointermove", (event) => {
      if (!grip) return;
      const way = grip.y - event.clientY + (event.clientX - grip.x);
      this.turn(grip.value + way / 160 * (max - min));
    });
    for (const end of ["pointerup", "pointercancel"]) this.face.addEventListener(end, () => { grip = null; });
    this.face.addEventListener("dblclick", () => this.turn(this.home));
  }

  /**
   * Turns to `value`, held within the knob's range and on its steps; home itself is always reached.
   *
   * @param {number} value
   */
  turn(value) {
    const { min, max, step } = this.options;
    const held = Math.min(max, Math.max(min, value));
    const stepped = Math.abs(held - this.home) < step / 2 ? this.home : Math.round(held / step) * step;
    if (this.disabled || stepped === this.value) return;
    this.value = stepped;
    this.show();
    this.onturn();
  }

  /** @param {boolean} disabled */
  disable(disabled) {
    this.disabled = disabled;
    this.face.setAttribute("aria-disabled", String(disabled));
  }

  show() {
    this.pointer.setAttribute("transform", `rotate(${this.angle(this.value)} 50 50)`);
    this.face.setAttribute("aria-valuenow", String(+this.value.toPrecision(4)));
    this.face.setAttribute("aria-valuetext", this.options.spoken(this.value));
    this.text.textContent = this.options.shown(this.value);
  }
}

/**
 * Returns the knobs that a guitar has.
 *
 * @param {SetData} set
 * @param {() => void} onturn
 * @returns {Knobs}
 */
function knobsOf(set, onturn) {
  /** @type {(value: number) => string} */
  const digit = (value) => value.toFixed(1);
  /** @type {(label: string, data: PotData) => Knob} */
  const pot = (label, { turned }) => new Knob({
    label, min: 0, max: 10, value: turned, step: 0.1, page: 1,
    marks: ["0", "", "2", "", "4", "", "6", "", "8", "", "10"],
    shown: digit, spoken: (value) => `${digit(value)} of 10`,
  }, onturn);
  /** @type {(value: number) => string} */
  const picofarads = (value) => `${Math.round(value)} pF`;
  const longest = Math.max(1500, Math.ceil(set.knobs.cable * 1e12 / 500) * 500);
  const cable = new Knob({
    label: "Cable", min: 0, max: longest, value: set.knobs.cable * 1e12, step: 10, page: 100,
    marks: ["0", "", "", "", "", String(longest)],
    shown: picofarads, spoken: (value) => `${Math.round(value)} picofarads`,
  }, onturn);
  return {
    ...(set.knobs.volume && { volume: pot("Volume", set.knobs.volume) }),
    ...(set.knobs.tone && { tone: pot("Tone", set.knobs.tone) }),
    cable,
  };
}
