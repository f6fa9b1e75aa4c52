// The circuits, solved in the page. A circuit comes as equations (G + s/ω₀ C) x = b e, in which the parts that knobs
// set are left out, a resistor of one scaled unit standing in each one's place. So the equations are solved once for
// each frequency, as a table; a part of admittance y is put back by a correction of rank one with y − 1.
//
// A table has a row for each place and one for the jack: the voltage there from each feed, and from a current into
// each place. Complex numbers lie as pairs, real and imaginary, in Float64Arrays.

/** The resistance in ohms that stands for a short, as a pot has it at its end. */
const SHORT = 1e-3;

/** A circuit as it is heard, with the tables made so far. */
class Heard {
  /**
   * `weights(frequency)` gives, for each feed, the complex weights of the coils as pairs: [[ar, ai, br, bi, …], …].
   *
   * @param {CircuitData} circuit
   * @param {Weights} weights
   */
  constructor(circuit, weights) {
    this.circuit = circuit;
    this.weights = weights;
    this.places = circuit.places;
    this.feeds = weights(0).length;
    this.columns = this.feeds + this.places.length;
    this.rows = this.places.length + 1;
    this.size = 2 * this.rows * this.columns;
    /** @type {Map<string, Float64Array>} */
    this.tables = new Map();
  }

  /**
   * Returns the tables at the frequencies k·step, 0 ≤ k < count, one after the other; kept for the next time.
   *
   * @param {number} step
   * @param {number} count
   */
  tableOf(step, count) {
    const key = `${step}/${count}`;
    const kept = this.tables.get(key);
    if (kept) return kept;
    const tables = this.solved(Array.from({ length: count }, (_, k) => k * step));
    this.tables.set(key, tables);
    return tables;
  }

  /**
   * Returns the tables at `frequencies` in hertz, one after the other.
   *
   * @param {number[]} frequencies
   */
  solved(frequencies) {
    const tables = new Float64Array(this.size * frequencies.length);
    if (this.circuit.output !== null) {
      const system = new System(this.circuit);
      frequencies.forEach((f, i) => this.fill(tables, i * this.size, system, f));
    }
    return tables;
  }

  /**
   * @param {Float64Array} tables
   * @param {number} start
   * @param {System} system
   * @param {number} frequency
   */
  fill(tables, start, system, frequency) {
    system.solve(2 * Math.PI * frequency / this.circuit.omega);
    const weights = this.weights(frequency);
    for (let row = 0; row < this.rows; row++) {
      for (let column = 0; column < this.columns; column++) {
        const at = start + 2 * (row * this.columns + column);
        if (column < this.feeds) {
          this.circuit.drives.forEach((drives, coil) => {
            const wr = weights[column][2 * coil];
            const wi = weights[column][2 * coil + 1];
            for (const [driven, share] of drives) system.add(tables, at, driven, row, share * wr, share * wi);
          });
        } else {
          const { a, b } = this.places[column - this.feeds];
          system.add(tables, at, a, row, 1, 0);
          system.add(tables, at, b, row, -1, 0);
        }
      }
    }
  }

  /**
   * Puts the parts back into the tables and writes the jack's voltage from each feed into `outputs`, one array a feed.
   * `admittances` writes the scaled admittance of each place's part at a frequency into an array of pairs.
   *
   * @param {Float64Array} tables
   * @param {(k: number) => number} frequencyOf
   * @param {Admittances} admittances
   * @param {Pairs[]} outputs
   */
  attach(tables, frequencyOf, admittances, outputs) {
    const { rows, columns, feeds, places, size } = this;
    const work = new Float64Array(size);
    const parts = new Float64Array(2 * places.length);
    for (let k = 0; k * size < tables.length; k++) {
      work.set(tables.subarray(k * size, (k + 1) * size));
      admittances(frequencyOf(k), parts);
      for (let p = 0; p < places.length; p++) {
        // The factor y / (1 + y z), with z the impedance at the place.
        const yr = parts[2 * p] - 1;
        const yi = parts[2 * p + 1];
        const own = 2 * (p * columns + feeds + p);
        const dr = 1 + yr * work[own] - yi * work[own + 1];
        const di = yr * work[own + 1] + yi * work[own];
        const power = dr * dr + di * di;
        const fr = (yr * dr + yi * di) / power;
        const fi = (yi * dr - yr * di) / power;
        for (let row = p + 1; row < rows; row++) {
          const of = 2 * (row * columns + feeds + p);
          const tr = work[of] * fr - work[of + 1] * fi;
          const ti = work[of] * fi + work[of + 1] * fr;
          for (let column = 0; column < columns; column++) {
            // What lies behind is never looked at again.
            if (column >= feeds && column <= feeds + p) continue;
            const at = 2 * (row * columns + column);
            const from = 2 * (p * columns + column);
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
  /** @param {CircuitData} circuit */
  constructor(circuit) {
    this.size = circuit.size;
    this.heads = [...circuit.places, { a: circuit.output, b: null }];
    this.width = this.size + this.heads.length;
    this.g = this.rowsOf(circuit.conductive);
    this.c = this.rowsOf(circuit.reactive);
    this.heads.forEach(({ a, b }, head) => {
      if (a !== null) this.g[a * this.width + this.size + head] += 1;
      if (b !== null) this.g[b * this.width + this.size + head] -= 1;
    });
    this.re = new Float64Array(this.g.length);
    this.im = new Float64Array(this.g.length);
  }

  /** @param {[row: number, column: number, value: number][]} entries */
  rowsOf(entries) {
    const matrix = new Float64Array(this.size * this.width);
    for (const [row, column, value] of entries) matrix[column * this.width + row] += value;
    return matrix;
  }

  /**
   * Adds the unknown `row` (null is ground) of the solution for `head`, times a weight, to the pair at `at`.
   *
   * @param {Float64Array} target
   * @param {number} at
   * @param {number | null} row
   * @param {number} head
   * @param {number} wr
   * @param {number} wi
   */
  add(target, at, row, head, wr, wi) {
    if (row === null) return;
    const from = row * this.width + this.size + head;
    target[at] += wr * this.re[from] - wi * this.im[from];
    target[at + 1] += wr * this.im[from] + wi * this.re[from];
  }

  /**
   * Solves at s = j·omega (in scaled units) by Gauss–Jordan elimination with the largest pivot of each column.
   *
   * @param {number} omega
   */
  solve(omega) {
    const { size, re, im, g, c } = this;
    for (let at = 0; at < g.length; at++) {
      re[at] = g[at];
      im[at] = omega * c[at];
    }
    for (let column = 0; column < size; column++) {
      this.swapRows(column, this.pivot(column));
      this.divide(column);
      for (let row = 0; row < size; row++) if (row !== column) this.eliminate(row, column);
    }
  }

  /** @param {number} column */
  pivot(column) {
    let best = column;
    let most = -1;
    for (let row = column; row < this.size; row++) {
      const at = row * this.width + column;
      const power = this.re[at] * this.re[at] + this.im[at] * this.im[at];
      if (power > most) {
        best = row;
        most = power;
      }
    }
    return best;
  }

  /**
   * @param {number} one
   * @param {number} other
   */
  swapRows(one, other) {
    if (one === other) return;
    for (let j = 0; j < this.width; j++) {
      swap(this.re, one * this.width + j, other * this.width + j);
      swap(this.im, one * this.width + j, other * this.width + j);
    }
  }

  /** @param {number} row */
  divide(row) {
    const { width, re, im } = this;
    const own = row * width + row;
    const power = re[own] * re[own] + im[own] * im[own];
    const dr = re[own] / power;
    const di = -im[own] / power;
    for (let at = own; at < (row + 1) * width; at++) {
      const kept = re[at];
      re[at] = kept * dr - im[at] * di;
      im[at] = kept * di + im[at] * dr;
    }
  }

  /**
   * @param {number} row
   * @param {number} column
   */
  eliminate(row, column) {
    const { width, re, im } = this;
    const fr = re[row * width + column];
    const fi = im[row * width + column];
    if (fr === 0 && fi === 0) return;
    const down = (row - column) * width;
    for (let from = column * width + column; from < (column + 1) * width; from++) {
      re[from + down] -= fr * re[from] - fi * im[from];
      im[from + down] -= fr * im[from] + fi * re[from];
    }
  }
}

/**
 * The fraction of a pot's track below its wiper with the knob at `turned`, 0 to 10.
 *
 * @param {PotData} pot
 * @param {number} turned
 */
function fraction(pot, turned) {
  const x = turned / 10;
  if (pot.mid === null) return x;
  return x <= 0.5 ? 2 * pot.mid * x : pot.mid + (1 - pot.mid) * (2 * x - 1);
}

/**
 * Returns what writes the scaled admittances of a circuit's parts with the knobs at `turned`.
 *
 * @param {CircuitData} circuit
 * @param {KnobsData} knobs
 * @param {Turned} turned
 * @returns {Admittances}
 */
function partsAt(circuit, knobs, turned) {
  /** @type {(pot: PotData | null, at: number | undefined, above: boolean) => number} */
  const track = (pot, at, above) => {
    if (!pot || at === undefined) throw new Error("the circuit has a knob that the guitar has not");
    const below = fraction(pot, at);
    return circuit.impedance / Math.max(pot.track * (above ? 1 - below : below), SHORT);
  };
  const conductances = circuit.places.map(({ part }) => {
    switch (part) {
      case "volume-above": return track(knobs.volume, turned.volume, true);
      case "volume-below": return track(knobs.volume, turned.volume, false);
      case "tone": return track(knobs.tone, turned.tone, false);
      case "cable": return null;
      default: throw new Error(`no knob sets ${/** @type {string} */ (part)}`);
    }
  });
  return (frequency, parts) => {
    conductances.forEach((conductance, p) => {
      parts[2 * p] = conductance ?? 0;
      parts[2 * p + 1] = conductance === null ? 2 * Math.PI * frequency * turned.cable * circuit.impedance : 0;
    });
  };
}
