// The circuits, solved in the page. A circuit comes as equations (G + s/ω₀ C) x = b e, in which the parts that knobs
// set are left out, a resistor of one scaled unit standing in each one's place. So the equations are solved once for
// each frequency, as a table; a part of admittance y is put back by a correction of rank one with y − 1.
//
// A table has a row for each place and one for the jack: the voltage there from each feed, and from a current into
// each place. Complex numbers lie as pairs, real and imaginary, in Float64Arrays.

/** A wire's resistance in ohms: the least that a pot at its end has. */
const WIRE = 1e-3;

/** The circuits of one voice, or of the one that a take was recorded through, with the tables made so far. */
class Heard {
  /** `weights(frequency)` gives, for each feed, the complex weights of coil A and coil B: [[ar, ai, br, bi], …]. */
  constructor(circuit, weights) {
    this.circuit = circuit;
    this.weights = weights;
    this.places = circuit.places;
    this.feeds = weights(0).length;
    this.columns = this.feeds + this.places.length;
    this.rows = this.places.length + 1;
    this.tables = new Map();
  }

  /** Returns the tables at the frequencies k·step, 0 ≤ k < count, one after the other; kept for the next time. */
  tableOf(step, count) {
    const key = `${step}/${count}`;
    if (!this.tables.has(key)) {
      this.tables.set(key, this.solved(Array.from({ length: count }, (_, k) => k * step)));
    }
    return this.tables.get(key);
  }

  /** Returns the tables at `frequencies` in hertz, one after the other. */
  solved(frequencies) {
    const size = 2 * this.rows * this.columns;
    const tables = new Float64Array(size * frequencies.length);
    if (this.circuit.output !== null) {
      const system = new System(this.circuit);
      frequencies.forEach((f, i) => this.fill(tables.subarray(i * size, (i + 1) * size), system, f));
    }
    return tables;
  }

  fill(table, system, frequency) {
    system.solve(2 * Math.PI * frequency / this.circuit.omega);
    const weights = this.weights(frequency);
    for (let row = 0; row < this.rows; row++) {
      for (let feed = 0; feed < this.feeds; feed++) {
        let [re, im] = [0, 0];
        this.circuit.drives.forEach((drives, coil) => {
          const [wr, wi] = [weights[feed][2 * coil], weights[feed][2 * coil + 1]];
          for (const [driven, share] of drives) {
            const [xr, xi] = system.at(driven, row);
            re += share * (wr * xr - wi * xi);
            im += share * (wr * xi + wi * xr);
          }
        });
        this.put(table, row, feed, re, im);
      }
      this.places.forEach((place, i) => {
        const [ar, ai] = system.at(place.a, row);
        const [br, bi] = system.at(place.b, row);
        this.put(table, row, this.feeds + i, ar - br, ai - bi);
      });
    }
  }

  put(table, row, column, re, im) {
    const at = 2 * (row * this.columns + column);
    table[at] = re;
    table[at + 1] = im;
  }

  /**
   * Puts the parts back into the tables and writes the jack's voltage from each feed into `outputs`, one array a feed.
   * `admittance(part, frequency)` gives the scaled admittance of a part, [real, imaginary].
   */
  attach(tables, frequencyOf, admittance, outputs) {
    const size = 2 * this.rows * this.columns;
    const { rows, columns, feeds, places } = this;
    const work = new Float64Array(size);
    for (let k = 0; k * size < tables.length; k++) {
      work.set(tables.subarray(k * size, (k + 1) * size));
      for (let p = 0; p < places.length; p++) {
        const [gr, gi] = admittance(places[p].part, frequencyOf(k));
        const [yr, yi] = [gr - 1, gi];
        const own = 2 * (p * columns + feeds + p);
        const [dr, di] = [1 + yr * work[own] - yi * work[own + 1], yr * work[own + 1] + yi * work[own]];
        const size2 = dr * dr + di * di;
        const [fr, fi] = [(yr * dr + yi * di) / size2, (yi * dr - yr * di) / size2];
        for (let row = p + 1; row < rows; row++) {
          const of = 2 * (row * columns + feeds + p);
          const [tr, ti] = [work[of] * fr - work[of + 1] * fi, work[of] * fi + work[of + 1] * fr];
          for (let column = 0; column < columns; column++) {
            if (column >= feeds && column <= feeds + p) continue;
            const [at, from] = [2 * (row * columns + column), 2 * (p * columns + column)];
            work[at] -= tr * work[from] - ti * work[from + 1];
            work[at + 1] -= tr * work[from + 1] + ti * work[from];
          }
        }
      }
      for (let feed = 0; feed < feeds; feed++) {
        const at = 2 * ((rows - 1) * columns + feed);
        outputs[feed][2 * k] = work[at];
        outputs[feed][2 * k + 1] = work[at + 1];
      }
    }
  }
}

/** The transposed equations: one solution for the jack, or for a place, tells its voltage from every source at once. */
class System {
  constructor(circuit) {
    this.size = circuit.size;
    this.heads = [...circuit.places, { a: circuit.output, b: null }];
    this.width = this.size + this.heads.length;
    this.g = this.dense(circuit.conductive);
    this.c = this.dense(circuit.reactive);
    this.re = new Float64Array(this.size * this.width);
    this.im = new Float64Array(this.size * this.width);
  }

  dense(entries) {
    const matrix = new Float64Array(this.size * this.size);
    for (const [row, column, value] of entries) matrix[column * this.size + row] += value;
    return matrix;
  }

  /** Returns the unknown `row` of the solution for head `head`; zero for ground. */
  at(row, head) {
    if (row === null) return [0, 0];
    const at = row * this.width + this.size + head;
    return [this.re[at], this.im[at]];
  }

  /** Solves at s = j·omega (in scaled units) by Gauss–Jordan elimination with the largest pivot of each column. */
  solve(omega) {
    const { size, width, re, im } = this;
    re.fill(0);
    im.fill(0);
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) {
        re[i * width + j] = this.g[i * size + j];
        im[i * width + j] = omega * this.c[i * size + j];
      }
    }
    this.heads.forEach((head, h) => {
      if (head.a !== null) re[head.a * width + size + h] += 1;
      if (head.b !== null) re[head.b * width + size + h] -= 1;
    });
    for (let column = 0; column < size; column++) {
      this.swap(column, this.pivot(column));
      this.divide(column);
      for (let row = 0; row < size; row++) if (row !== column) this.eliminate(row, column);
    }
  }

  pivot(column) {
    let [best, most] = [column, -1];
    for (let row = column; row < this.size; row++) {
      const at = row * this.width + column;
      const power = this.re[at] ** 2 + this.im[at] ** 2;
      if (power > most) [best, most] = [row, power];
    }
    return best;
  }

  swap(one, other) {
    if (one === other) return;
    for (const part of [this.re, this.im]) {
      const kept = part.slice(one * this.width, (one + 1) * this.width);
      part.copyWithin(one * this.width, other * this.width, (other + 1) * this.width);
      part.set(kept, other * this.width);
    }
  }

  divide(row) {
    const { width, re, im } = this;
    const own = row * width + row;
    const power = re[own] ** 2 + im[own] ** 2;
    const [dr, di] = [re[own] / power, -im[own] / power];
    for (let at = own; at < (row + 1) * width; at++) {
      [re[at], im[at]] = [re[at] * dr - im[at] * di, re[at] * di + im[at] * dr];
    }
  }

  eliminate(row, column) {
    const { width, re, im } = this;
    const [fr, fi] = [re[row * width + column], im[row * width + column]];
    if (fr === 0 && fi === 0) return;
    for (let j = column; j < width; j++) {
      const [at, from] = [row * width + j, column * width + j];
      re[at] -= fr * re[from] - fi * im[from];
      im[at] -= fr * im[from] + fi * re[from];
    }
  }
}

/** The fraction of a pot's track below its wiper with the knob at `turned`, 0 to 10. */
function fraction(pot, turned) {
  const x = turned / 10;
  if (pot.mid === null) return x;
  return x <= 0.5 ? 2 * pot.mid * x : pot.mid + (1 - pot.mid) * (2 * x - 1);
}

/** Returns the scaled admittance of a part with the knobs at `turned`: {volume, tone, cable}. */
function admittances(knobs, turned, impedance) {
  const track = (pot, share) => [impedance / Math.max(pot.track * share, WIRE), 0];
  return (part, frequency) => {
    switch (part) {
      case "volume-above": return track(knobs.volume, 1 - fraction(knobs.volume, turned.volume));
      case "volume-below": return track(knobs.volume, fraction(knobs.volume, turned.volume));
      case "tone": return track(knobs.tone, fraction(knobs.tone, turned.tone));
      case "cable": return [0, 2 * Math.PI * frequency * turned.cable * impedance];
      default: throw new Error(`no knob sets ${part}`);
    }
  };
}
