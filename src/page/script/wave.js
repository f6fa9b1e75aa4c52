// The waveform: where the sound is, to look at, to seek in and to loop a part of.

class Wave {
  /** `on`: {seek(frame), region(start, end)}. */
  constructor(root, on) {
    this.root = root;
    this.on = on;
    this.canvas = root.querySelector("canvas");
    const part = (name) => root.querySelector(name);
    [this.shade, this.needle] = [part(".region"), part(".needle")];
    [this.seek, this.start, this.end] = [part(".seek"), part(".flag-start"), part(".flag-end")];
    new ResizeObserver(() => this.draw()).observe(root);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    this.slider(this.seek, () => this.position, (frame) => on.seek(frame), 1);
    this.slider(this.start, () => this.region[0], (frame) => this.bound(frame, this.region[1], 0), 0.1);
    this.slider(this.end, () => this.region[1], (frame) => this.bound(this.region[0], frame, 1), 0.1);
  }

  /** Shows a sound: {planes, rate, lead, length}. */
  show(sound) {
    this.sound = sound;
    this.position = 0;
    this.region = [0, sound.length];
    this.draw();
    this.showRegion();
    this.moveTo(0);
  }

  bound(start, end, moved) {
    const least = Math.min(this.sound.length, Math.round(0.1 * this.sound.rate));
    if (end - start < least) moved ? (end = start + least) : (start = end - least);
    start = Math.max(0, Math.min(start, this.sound.length - least));
    end = Math.min(this.sound.length, Math.max(end, start + least));
    this.setRegion(start, end);
    this.on.region(start, end);
  }

  setRegion(start, end) {
    this.region = [start, end];
    this.showRegion();
  }

  showRegion() {
    const [start, end] = this.region.map((frame) => 100 * frame / this.sound.length);
    this.shade.classList.toggle("whole", end - start === 100);
    this.shade.style.left = `${start}%`;
    this.shade.style.width = `${end - start}%`;
    this.start.style.left = `${start}%`;
    this.end.style.left = `${end}%`;
    this.say(this.start, this.region[0]);
    this.say(this.end, this.region[1]);
  }

  moveTo(frame) {
    this.position = frame;
    this.needle.style.left = `${100 * frame / this.sound.length}%`;
    this.say(this.seek, frame);
  }

  say(slider, frame) {
    const seconds = (frames) => (frames / this.sound.rate).toFixed(1);
    const text = `${seconds(frame)} of ${seconds(this.sound.length)} seconds`;
    if (slider.getAttribute("aria-valuetext") === text) return;
    slider.setAttribute("aria-valuemin", 0);
    slider.setAttribute("aria-valuemax", seconds(this.sound.length));
    slider.setAttribute("aria-valuenow", seconds(frame));
    slider.setAttribute("aria-valuetext", text);
  }

  /** Makes `node` a slider over the sound, moved by `seconds` with an arrow key. */
  slider(node, value, set, seconds) {
    const at = (event) => {
      const box = this.root.getBoundingClientRect();
      const share = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
      return Math.round(share * this.sound.length);
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
      const steps = {
        ArrowLeft: -seconds, ArrowDown: -seconds, ArrowRight: seconds, ArrowUp: seconds,
        PageDown: -5, PageUp: 5, Home: -Infinity, End: Infinity,
      };
      if (!(event.key in steps) || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      const frame = value() + steps[event.key] * this.sound.rate;
      set(Math.round(Math.min(this.sound.length, Math.max(0, frame))));
    });
  }

  draw() {
    const { clientWidth: width, clientHeight: height } = this.root;
    if (!this.sound || width === 0) return;
    const scale = window.devicePixelRatio || 1;
    this.canvas.width = width * scale;
    this.canvas.height = height * scale;
    const pen = this.canvas.getContext("2d");
    pen.scale(scale, scale);
    pen.fillStyle = getComputedStyle(this.root).getPropertyValue("--wave");
    const peaks = this.peaks(Math.floor(width / 3));
    const tallest = peaks.reduce((most, peak) => Math.max(most, peak), 1e-9);
    peaks.forEach((peak, i) => {
      const tall = Math.max(1, peak / tallest * (height - 16));
      pen.beginPath();
      pen.roundRect(i * 3 + 0.5, (height - tall) / 2, 2, tall, 1);
      pen.fill();
    });
  }

  peaks(count) {
    const { planes, lead, length } = this.sound;
    const edge = (i) => lead + Math.floor(i * length / count);
    return Array.from({ length: count }, (_, i) =>
      planes.reduce((most, plane) => Math.max(most, largest(plane.subarray(edge(i), Math.max(edge(i) + 1, edge(i + 1))))), 0));
  }
}
