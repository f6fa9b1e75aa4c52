// The waveform: where the sound is, to look at, to seek in and to loop a part of.

class Wave {
  /**
   * @param {HTMLElement} root
   * @param {{ seek: (frame: number) => void, region: (start: number, end: number) => void }} on
   */
  constructor(root, on) {
    this.root = root;
    this.on = on;
    this.canvas = found(root, "canvas", HTMLCanvasElement);
    this.shade = found(root, ".region", HTMLElement);
    this.needle = found(root, ".needle", HTMLElement);
    this.seek = found(root, ".seek", HTMLElement);
    this.start = found(root, ".flag-start", HTMLElement);
    this.end = found(root, ".flag-end", HTMLElement);
    /** @type {Sound | null} */
    this.sound = null;
    this.position = 0;
    this.region = [0, 0];
    new ResizeObserver(() => this.draw()).observe(root);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    this.slider(this.seek, () => this.position, (frame) => on.seek(frame), 1);
    this.slider(this.start, () => this.region[0], (frame) => this.bound(frame, this.region[1], 0), 0.1);
    this.slider(this.end, () => this.region[1], (frame) => this.bound(this.region[0], frame, 1), 0.1);
  }

  /** @param {Sound} sound */
  show(sound) {
    this.sound = sound;
    this.position = 0;
    this.region = [0, sound.length];
    this.draw();
    this.showRegion();
    this.moveTo(0);
  }

  /**
   * Loops from `start` to `end`, of which the one that was `moved` gives way where they are too near each other.
   *
   * @param {number} start
   * @param {number} end
   * @param {0 | 1} moved
   */
  bound(start, end, moved) {
    const { length, rate } = this.shown();
    const least = Math.min(length, Math.round(0.1 * rate));
    if (end - start < least) {
      if (moved) end = start + least;
      else start = end - least;
    }
    start = Math.max(0, Math.min(start, length - least));
    end = Math.min(length, Math.max(end, start + least));
    this.setRegion(start, end);
    this.on.region(start, end);
  }

  /** Returns the sound that is shown; before there is one, nothing can be pressed. */
  shown() {
    if (!this.sound) throw new Error("no sound is shown yet");
    return this.sound;
  }

  /**
   * @param {number} start
   * @param {number} end
   */
  setRegion(start, end) {
    this.region = [start, end];
    this.showRegion();
  }

  showRegion() {
    const { length } = this.shown();
    const [start, end] = this.region.map((frame) => 100 * frame / length);
    this.shade.classList.toggle("whole", end - start === 100);
    this.shade.style.left = `${start}%`;
    this.shade.style.width = `${end - start}%`;
    this.start.style.left = `${start}%`;
    this.end.style.left = `${end}%`;
    this.say(this.start, this.region[0]);
    this.say(this.end, this.region[1]);
  }

  /** @param {number} frame */
  moveTo(frame) {
    this.position = frame;
    this.needle.style.left = `${100 * frame / this.shown().length}%`;
    this.say(this.seek, frame);
  }

  /**
   * @param {HTMLElement} slider
   * @param {number} frame
   */
  say(slider, frame) {
    const { length, rate } = this.shown();
    /** @type {(frames: number) => string} */
    const seconds = (frames) => (frames / rate).toFixed(1);
    const text = `${seconds(frame)} of ${seconds(length)} seconds`;
    if (slider.getAttribute("aria-valuetext") === text) return;
    slider.setAttribute("aria-valuemin", "0");
    slider.setAttribute("aria-valuemax", seconds(length));
    slider.setAttribute("aria-valuenow", seconds(frame));
    slider.setAttribute("aria-valuetext", text);
  }

  /**
   * Makes `node` a slider over the sound, moved by `seconds` with an arrow key.
   *
   * @param {HTMLElement} node
   * @param {() => number} value
   * @param {(frame: number) => void} set
   * @param {number} seconds
   */
  slider(node, value, set, seconds) {
    /** @type {(event: PointerEvent) => number} */
    const at = (event) => {
      const box = this.root.getBoundingClientRect();
      const share = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
      return Math.round(share * this.shown().length);
    };
    let held = false;
    node.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      node.setPointerCapture(event.pointerId);
      held = true;
      if (node === this.seek) set(at(event));
    });
    node.addEventListener("pointermove", (event) => { if (held) set(at(event)); });
    for (const end of ["pointerup", "pointercancel"]) node.addEventListener(end, () => { held = false; });
    node.addEventListener("keydown", (event) => {
      /** @type {Record<string, number>} */
      const steps = {
        ArrowLeft: -seconds, ArrowDown: -seconds, ArrowRight: seconds, ArrowUp: seconds,
        PageDown: -5, PageUp: 5, Home: -Infinity, End: Infinity,
      };
      if (!(event.key in steps) || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      const { length, rate } = this.shown();
      const frame = value() + steps[event.key] * rate;
      set(Math.round(Math.min(length, Math.max(0, frame))));
    });
  }

  draw() {
    const { clientWidth: width, clientHeight: height } = this.root;
    if (!this.sound || width === 0) return;
    const scale = window.devicePixelRatio || 1;
    this.canvas.width = width * scale;
    this.canvas.height = height * scale;
    const pen = this.canvas.getContext("2d");
    if (!pen) return;
    pen.scale(scale, scale);
    pen.fillStyle = getComputedStyle(this.root).getPropertyValue("--wave");
    const peaks = this.peaks(this.sound, Math.floor(width / 3));
    const tallest = peaks.reduce((most, peak) => Math.max(most, peak), 1e-9);
    peaks.forEach((peak, i) => {
      const tall = Math.max(1, peak / tallest * (height - 16));
      pen.beginPath();
      pen.roundRect(i * 3 + 0.5, (height - tall) / 2, 2, tall, 1);
      pen.fill();
    });
  }

  /**
   * Returns the highest sample of each of `count` parts of a sound.
   *
   * @param {Sound} sound
   * @param {number} count
   */
  peaks({ planes, lead, length }, count) {
    /** @type {(i: number) => number} */
    const edge = (i) => lead + Math.floor(i * length / count);
    return Array.from({ length: count }, (_, i) =>
      planes.reduce((most, plane) => Math.max(most, largest(plane.subarray(edge(i), Math.max(edge(i) + 1, edge(i + 1))))), 0));
  }
}
