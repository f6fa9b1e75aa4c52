// The response at the jack with the controls as they stand: the chosen voice over the others.

const CURVES = { height: 250, left: 40, right: 12, top: 12, bottom: 26, high: 15, low: -35 };
const FREQUENCIES = [[50, ""], [100, "100"], [200, "200"], [500, "500"], [1000, "1k"], [2000, "2k"], [5000, "5k"], [10000, "10k"], [20000, "20k"]];

class Curves {
  constructor(figure, set, voices) {
    this.voices = voices;
    this.svg = figure.querySelector("svg");
    const turned = homeOf(set);
    const low = voices[set.baseline].curve(turned)[CURVE.findIndex((f) => f >= LOW)];
    this.reference = low > 0 ? low : 1;
    this.lines = voices.map(() => drawn("path", { class: "curve" }));
    this.name = drawn("text", { class: "curve-name" });
    this.frame = drawn("g");
    this.svg.append(this.frame, ...this.lines, this.name);
    Object.assign(this, { chosen: null, turned });
    new ResizeObserver(() => this.fit()).observe(figure);
    this.fit();
  }

  /** Draws for the width that there is, so that text keeps its size. */
  fit() {
    this.width = Math.max(300, this.svg.parentElement.clientWidth);
    this.svg.setAttribute("viewBox", `0 0 ${this.width} ${CURVES.height}`);
    this.grid();
    this.show(this.chosen, this.turned);
  }

  grid() {
    const { height, left, right, top, bottom, high, low } = CURVES;
    const { width } = this;
    const parts = [];
    const label = (x, y, text, anchor) => drawn("text", { class: "axis", x, y, "text-anchor": anchor }, text);
    for (const [f, text] of FREQUENCIES) {
      const x = this.x(f).toFixed(1);
      parts.push(drawn("path", { class: "grid", d: `M${x} ${top}V${height - bottom}` }), label(x, height - 9, text, "middle"));
    }
    for (let db = low + 5; db <= high; db += 10) {
      const y = this.y(db).toFixed(1);
      parts.push(drawn("path", { class: db === 0 ? "grid zero" : "grid", d: `M${left} ${y}H${width - right}` }),
        label(left - 7, +y + 4, db === 0 ? "0 dB" : String(db).replace("-", "−"), "end"));
    }
    this.frame.replaceChildren(...parts);
  }

  x(f) {
    const { left, right } = CURVES;
    return left + (this.width - left - right) * Math.log(f / 50) / Math.log(400);
  }

  y(db) {
    const { height, top, bottom, high, low } = CURVES;
    return top + (height - top - bottom) * (high - Math.min(high, Math.max(low, db))) / (high - low);
  }

  /** Draws all voices with the knobs at `turned`; `chosen` stands out, or none where it is null. */
  show(chosen, turned) {
    this.turned = turned;
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
    this.chosen = chosen;
    this.lines.forEach((line, i) => line.setAttribute("class", i === chosen ? "curve chosen" : "curve"));
    this.name.replaceChildren();
    if (chosen === null) return;
    this.svg.append(this.lines[chosen], this.name);
    const lines = this.nameIn(this.voices[chosen].data.name, this.width - CURVES.left - CURVES.right - 16);
    const [, y] = this.lines[chosen].getAttribute("d").match(/^M\S+ (\S+)L/);
    const rise = 15;
    this.name.replaceChildren(...lines.map((line, i) => drawn("tspan", { x: CURVES.left + 8, dy: i ? rise : 0 }, line)));
    this.name.setAttribute("y", Math.max(CURVES.top + 12, y - 9 - rise * (lines.length - 1)));
  }

  /** Returns a name in lines of its parts that are no wider than `room`, where a part is not. */
  nameIn(name, room) {
    const lines = [];
    for (const part of partsOf(name)) {
      this.name.textContent = (lines.at(-1) ?? "") + part;
      if (lines.length === 0 || this.name.getComputedTextLength() > room) lines.push(part);
      else lines[lines.length - 1] += part;
    }
    return lines;
  }
}
