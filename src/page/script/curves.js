// The response at the jack with the controls as they stand, each voice in its own colour and dash and called by its number;
// the one that is heard stands out and has its name.

const CURVES = { height: 270, left: 46, right: 12, top: 12, bottom: 26, span: 50, step: 10 };
/** @type {[frequency: number, written: string][]} */
const FREQUENCIES = [[50, ""], [100, "100"], [200, "200"], [500, "500"], [1000, "1k"], [2000, "2k"], [5000, "5k"], [10000, "10k"], [20000, "20k"]];
/** A picture that is narrower writes no more than the decades. */
const NARROW = 400;
/** How high a line of numbers is. */
const LINE = 15;

class Curves {
  /**
   * @param {HTMLElement} figure
   * @param {SetData} set
   */
  constructor(figure, set) {
    this.set = set;
    this.figure = figure;
    this.svg = found(figure, "svg", SVGSVGElement);
    /**
     * Each voice's levels along `CURVE`, null where its curve is not there yet.
     *
     * @type {(number[] | null)[]}
     */
    this.levels = set.voices.map(() => null);
    this.lines = set.voices.map((voice) => drawn("path", { class: `curve hue-${voice.look.hue}` }));
    this.names = drawn("g", { class: "curve-names" });
    this.frame = drawn("g");
    this.window = drawn("rect");
    const within = drawn("clipPath", { id: "curves-within" }, this.window);
    this.drawing = drawn("g", { "clip-path": "url(#curves-within)" }, ...this.lines);
    this.svg.append(within, this.frame, this.drawing, this.names);
    /** @type {number | null} */
    this.chosen = null;
    this.reference = 1;
    this.hasReference = false;
    this.high = 15;
    this.low = this.high - CURVES.span;
    this.width = 0;
    this.asked = 0;
    new ResizeObserver(() => this.fit()).observe(figure);
    this.fit();
  }

  /**
   * Takes a voice's magnitudes along `CURVE`; 0 dB is what the baseline's first have at 100 Hz.
   *
   * @param {number} index
   * @param {Float64Array} magnitudes
   */
  take(index, magnitudes) {
    if (index === this.set.baseline && !this.hasReference) {
      const low = magnitudes[CURVE.findIndex((f) => f >= LOW)];
      this.hasReference = true;
      this.reference = low > 0 ? low : 1;
    }
    this.levels[index] = Array.from(magnitudes, (magnitude) => 20 * Math.log10(Math.max(magnitude, 1e-12)));
    this.later();
  }

  /** @param {number | null} chosen */
  choose(chosen) {
    this.chosen = chosen;
    this.later();
  }

  /** Draws once for all that changes before the next frame. */
  later() {
    this.asked ||= requestAnimationFrame(() => {
      this.asked = 0;
      this.show();
    });
  }

  /** Draws for the width that there is, so that text keeps its size. */
  fit() {
    const { height, left, right, top, bottom } = CURVES;
    this.width = Math.max(240, (this.svg.parentElement ?? this.figure).clientWidth);
    this.svg.setAttribute("viewBox", `0 0 ${this.width} ${height}`);
    const window = { x: left, y: top, width: this.width - left - right, height: height - top - bottom };
    for (const [name, value] of Object.entries(window)) this.window.setAttribute(name, String(value));
    this.show();
  }

  show() {
    const zero = 20 * Math.log10(this.reference);
    const levels = this.levels.map((own) => own?.map((level) => level - zero));
    const highest = levels.flatMap((own) => own ?? []).reduce((most, level) => Math.max(most, level), -Infinity);
    // The axis follows: it ends on a five above what is highest, with room for a name.
    const { step, span } = CURVES;
    if (Number.isFinite(highest)) this.high = Math.max(-100, Math.ceil((highest + 2 - step / 2) / step) * step + step / 2);
    this.low = this.high - span;
    this.grid();
    this.lines.forEach((line, i) => {
      const isChosen = i === this.chosen;
      const width = isChosen ? 3 : 1.5;
      const d = levels[i]?.map((level, k) => `${k ? "L" : "M"}${this.x(CURVE[k]).toFixed(1)} ${this.y(level).toFixed(1)}`).join("");
      line.setAttribute("d", d ?? "");
      line.setAttribute("class", `curve hue-${this.set.voices[i].look.hue}${isChosen ? " chosen" : ""}`);
      line.setAttribute("stroke-dasharray", dashes(this.set.voices[i].look.dash, width));
    });
    if (this.chosen !== null) this.drawing.append(this.lines[this.chosen]);
    this.name(levels);
  }

  grid() {
    const { height, left, right, top, bottom, step } = CURVES;
    const { width, high, low } = this;
    const parts = [];
    /** @type {(x: string | number, y: number, text: string, anchor: string) => SVGElement} */
    const label = (x, y, text, anchor) => drawn("text", { class: "axis", x, y, "text-anchor": anchor }, text);
    /** @type {(f: number) => boolean} */
    const isDecade = (f) => Number.isInteger(Math.log10(f));
    for (const [f, own] of FREQUENCIES) {
      const text = width < NARROW && !isDecade(f) ? "" : own;
      const x = this.x(f).toFixed(1);
      parts.push(drawn("path", { class: "grid", d: `M${x} ${top}V${height - bottom}` }), label(x, height - 9, text, f === 20000 ? "end" : "middle"));
    }
    for (let db = Math.ceil(low / step) * step; db <= high; db += step) {
      const y = this.y(db).toFixed(1);
      parts.push(drawn("path", { class: db === 0 ? "grid zero" : "grid", d: `M${left} ${y}H${width - right}` }),
        label(left - 7, +y + 4, `${signed(db, 0)}${db === 0 ? " dB" : ""}`, "end"));
    }
    this.frame.replaceChildren(...parts);
  }

  /** @param {number} f */
  x(f) {
    const { left, right } = CURVES;
    return left + (this.width - left - right) * Math.log(f / 50) / Math.log(400);
  }

  /** @param {number} db */
  y(db) {
    const { height, top, bottom, span } = CURVES;
    return top + (height - top - bottom) * (this.high - db) / span;
  }

  /**
   * Writes each curve's number where it begins, those of curves that begin together side by side.
   *
   * @param {(number[] | undefined)[]} levels
   */
  name(levels) {
    const { height, bottom, top, left, right } = CURVES;
    const [least, most] = [top + 12, height - bottom - 5];
    const starts = levels.flatMap((own, index) => (own ? [{ index, y: this.y(own[0]) - 5 }] : []));
    /** @type {{ y: number, members: number[] }[]} */
    const groups = [];
    for (const start of starts.sort((a, b) => a.y - b.y)) {
      const last = groups.at(-1);
      if (last && start.y < last.y + LINE) last.members.push(start.index);
      else groups.push({ y: Math.min(Math.max(start.y, least), most), members: [start.index] });
    }
    const texts = groups.map(({ y, members }) => {
      members.sort((a, b) => Number(b === this.chosen) - Number(a === this.chosen) || a - b);
      const parts = members.flatMap((index, i) => this.called(index, i === members.length - 1));
      return drawn("text", { class: "curve-name", x: left + 8, y }, ...parts);
    });
    this.names.replaceChildren(...texts);
    const room = this.width - left - right - 16;
    for (const text of texts) this.shorten(text, room);
  }

  /**
   * @param {number} index
   * @param {boolean} isLast
   */
  called(index, isLast) {
    const isChosen = index === this.chosen;
    const text = `${index + 1}${isChosen ? ` ${this.set.voices[index].title}` : ""}`;
    return [drawn("tspan", isChosen ? { class: "chosen" } : {}, text), ...(isLast ? [] : [", "])];
  }

  /**
   * Leaves out of a line that is wider than `room` what is too much: first numbers, then a name's end.
   *
   * @param {SVGTextElement} text
   * @param {number} room
   */
  shorten(text, room) {
    if (text.getComputedTextLength() <= room) return;
    while (text.childNodes.length > 2 && text.getComputedTextLength() > room - 12) {
      text.lastChild?.remove();
      text.lastChild?.remove();
    }
    const first = text.firstChild;
    if (!first) return;
    for (let name = first.textContent ?? ""; name.length > 4 && text.getComputedTextLength() > room - 12;) {
      name = name.slice(0, -1);
      first.textContent = name;
    }
    text.append(" …");
  }
}
