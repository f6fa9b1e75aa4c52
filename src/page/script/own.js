// A sound of the listener's own, chosen or dropped.

class Own {
  /** `hooks`: {load(sound): whether it is on the desk, isBusy()}; `rate` is the page's own sound's. */
  constructor(set, carried, hooks) {
    Object.assign(this, { set, carried, hooks });
    this.part = (id) => document.getElementById(id);
    this.tries = 0;
    this.part("file").addEventListener("change", (event) => {
      this.take(event.target.files[0]);
      event.target.value = "";
    });
    this.part("own-back").addEventListener("click", () => this.back());
    for (const kind of ["dragenter", "dragover"]) {
      document.addEventListener(kind, (event) => { event.preventDefault(); document.body.classList.add("dragging"); });
    }
    document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dragging"); });
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      document.body.classList.remove("dragging");
      this.take(event.dataTransfer.files[0]);
    });
  }

  /** Tells how it goes, or what went wrong; the one takes the other's place. */
  tell(said, trouble = "") {
    this.part("own-said").textContent = said;
    this.part("own-trouble").textContent = trouble;
    this.part("own-trouble").hidden = trouble === "";
  }

  async take(file) {
    if (!file || this.hooks.isBusy()) return;
    const own = ++this.tries;
    this.tell(`Reading ${file.name} …`);
    try {
      const { sound, left } = await ownSound(file, this.carried.rate);
      if (own !== this.tries) return;
      this.tell(`Working out how ${file.name} sounds …`);
      if (!await this.hooks.load(sound) || own !== this.tries) return;
      this.tell(`Playing ${file.name}${left.length ? `: ${left.join(", ")}` : ""}.`);
      this.part("own-back").hidden = false;
    } catch (error) {
      if (own === this.tries) this.tell("", `${file.name} was not taken: ${error.message}. Nothing has changed.`);
    }
  }

  async back() {
    const own = ++this.tries;
    if (!await this.hooks.load(this.carried) || own !== this.tries) return;
    this.tell("Playing the page's own sound again.");
    this.part("own-back").hidden = true;
    this.part("file").focus();
  }

  lock(locked) {
    this.part("file").disabled = locked;
    this.part("own-back").disabled = locked;
  }
}
