// The response at the jack with the controls as they stand: the chosen voice over the others.

const CURVES = { width: 560, height: 250, left: 38, right: 12, top: 12, bottom: 26, high: 15, low: -35 };
const FREQUENCIES = [[50, ""], [100, "100"], [200, "200"], [500, "500"], [1000, "1k"], [2000, "2k"], [5000, "5k"], [10000, "10k"], [20000, "20k"]];

class Curves {
  constructor(figure, set, voices) {
    this.voices = voices;
    this.svg = figure.querySelector("svg");
    this.svg.setAttribute("viewBox", `0 0 ${CURVES.width} ${CURVES.height}`);
    const turned = homeOf(set);
    const low = voices[set.baseline].curve(turned)[CURVE.findIndex((f) => f >= LOW)];
    this.reference = low > 0 ? low : 1;
    this.grid();
    this.lines = voices.map(() => drawn("path", { class: "curve" }));
    this.svg.append(...this.lines);
    this.show(0, turned);
  }

  grid() {
    const { width, height, left, right, top, bottom, high, low } = CURVES;
    const label = (x, y, text, anchor) => drawn("text", { class: "axis", x, y, "text-anchor": anchor }, text);
    for (const [f, text] of FREQUENCIES) {
      const x = this.x(f).toFixed(1);
      this.svg.append(drawn("path", { class: "grid", d: `M${x} ${top}V${height - bottom}` }), label(x, height - 9, text, "middle"));
    }
    for (let db = low + 5; db <= high; db += 10) {
      const y = this.y(db).toFixed(1);
      this.svg.append(drawn("path", { class: db === 0 ? "grid zero" : "grid", d: `M${left} ${y}H${width - right}` }),
        label(left - 7, +y + 4, db === 0 ? "0 dB" : String(db).replace("-", "−"), "end"));
    }
  }

  x(f) {
    const { width, left, right } = CURVES;
    return left + (width - left - right) * Math.log(f / 50) / Math.log(400);
  }

  y(db) {
    const { height, top, bottom, high, low } = CURVES;
    return top + (height - top - bottom) * (high - Math.min(high, Math.max(low, db))) / (high - low);
  }

  /** Draws all voices with the knobs at `turned`; `chosen` stands out, or none where it is null. */
  show(chosen, turned) {
    this.voices.forEach((voice, i) => {
      const d = voice.curve(turned).map((magnitude, k) => {
        const db = 20 * Math.log10(Math.max(magnitude, 1e-12) / this.reference);
        return `${k ? "L" : "M"}${this.x(CURVE[k]).toFixed(1)} ${this.y(db).toFixed(1)}`;
      });
      this.lines[i].setAttribute("d", d.join(""));
    });
    this.choose(chosen);
  }

  choose(chosen) {
    this.lines.forEach((line, i) => line.setAttribute("class", i === chosen ? "curve chosen" : "curve"));
    if (chosen !== null) this.svg.append(this.lines[chosen]);
  }
}
