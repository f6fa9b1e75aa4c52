// A knob: turned by dragging up and down, by the arrow keys, by page up and down; a double click puts it back.

/** Degrees from the bottom at which a knob begins and ends. */
const SWEEP = [30, 330];

class Knob {
  /** `options`: {label, min, max, value, step, page, marks, shown(value), spoken(value)}. */
  constructor(options, onturn) {
    Object.assign(this, options, { onturn, home: options.value });
    this.face = made("div", "knob");
    this.face.tabIndex = 0;
    this.face.setAttribute("role", "slider");
    this.face.setAttribute("aria-label", this.label);
    this.face.setAttribute("aria-valuemin", this.min);
    this.face.setAttribute("aria-valuemax", this.max);
    this.pointer = drawn("path", { class: "pointer", d: "M50 50V24" });
    this.face.append(drawn("svg", { viewBox: "0 0 100 100", "aria-hidden": "true" },
      ...this.scale(), drawn("circle", { class: "skirt", cx: 50, cy: 50, r: 31 }),
      drawn("circle", { class: "cap", cx: 50, cy: 50, r: 24 }), this.pointer));
    this.text = made("output", "");
    this.root = made("div", "dial", this.face, made("span", "dial-name", this.label), this.text);
    this.listen();
    this.show();
  }

  scale() {
    return this.marks.flatMap((mark, i) => {
      const angle = this.angle(this.min + (this.max - this.min) * i / (this.marks.length - 1));
      const line = drawn("path", { class: "tick", d: "M50 14V10", transform: `rotate(${angle} 50 50)` });
      const [x, y] = [50 + 45 * Math.sin(angle * Math.PI / 180), 50 - 45 * Math.cos(angle * Math.PI / 180)];
      const text = drawn("text", { class: "mark", x: x.toFixed(1), y: (y + 2.4).toFixed(1) }, mark);
      return mark === "" ? [line] : [text];
    });
  }

  /** The pointer's angle at `value`, 0 being straight up. */
  angle(value) {
    const share = (value - this.min) / (this.max - this.min);
    return SWEEP[0] + (SWEEP[1] - SWEEP[0]) * share - 180;
  }

  listen() {
    const keys = {
      ArrowUp: this.step, ArrowRight: this.step, ArrowDown: -this.step, ArrowLeft: -this.step,
      PageUp: this.page, PageDown: -this.page, Home: -Infinity, End: Infinity,
    };
    this.face.addEventListener("keydown", (event) => {
      if (!(event.key in keys) || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      this.turn(this.value + keys[event.key]);
    });
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
      this.turn(grip.value + way / 160 * (this.max - this.min));
    });
    for (const end of ["pointerup", "pointercancel"]) this.face.addEventListener(end, () => { grip = null; });
    this.face.addEventListener("dblclick", () => this.turn(this.home));
  }

  /** Turns to `value`, held within the knob's range and on its steps; home itself is always reached. */
  turn(value) {
    const held = Math.min(this.max, Math.max(this.min, value));
    const stepped = Math.abs(held - this.home) < this.step / 2 ? this.home : Math.round(held / this.step) * this.step;
    if (this.disabled || stepped === this.value) return;
    this.value = stepped;
    this.show();
    this.onturn();
  }

  disable(disabled) {
    this.disabled = disabled;
    this.face.setAttribute("aria-disabled", disabled);
  }

  show() {
    this.pointer.setAttribute("transform", `rotate(${this.angle(this.value)} 50 50)`);
    this.face.setAttribute("aria-valuenow", +this.value.toPrecision(4));
    this.face.setAttribute("aria-valuetext", this.spoken(this.value));
    this.text.textContent = this.shown(this.value);
  }
}

/** Returns the knobs that a guitar has: {volume, tone, cable}, as far as there are such. */
function knobsOf(set, onturn) {
  const digit = (value) => value.toFixed(1);
  const pot = (label, { turned }) => new Knob({
    label, min: 0, max: 10, value: turned, step: 0.1, page: 1,
    marks: ["0", "", "2", "", "4", "", "6", "", "8", "", "10"],
    shown: digit, spoken: (value) => `${digit(value)} of 10`,
  }, onturn);
  const picofarads = (value) => `${Math.round(value)} pF`;
  const longest = Math.max(1500, Math.ceil(set.knobs.cable * 1e12 / 500) * 500);
  const knobs = {};
  if (set.knobs.volume) knobs.volume = pot("Volume", set.knobs.volume);
  if (set.knobs.tone) knobs.tone = pot("Tone", set.knobs.tone);
  knobs.cable = new Knob({
    label: "Cable", min: 0, max: longest, value: set.knobs.cable * 1e12, step: 10, page: 100,
    marks: ["0", "", "", "", "", String(longest)],
    shown: picofarads, spoken: (value) => `${Math.round(value)} picofarads`,
  }, onturn);
  return knobs;
}
