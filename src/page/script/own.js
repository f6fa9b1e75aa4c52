// A sound of the listener's own, chosen or dropped.

class Own {
  /**
   * `load(sound)` tells whether the sound is in the mixer.
   *
   * @param {Sound} carried
   * @param {{ load: (sound: Sound) => Promise<boolean>, isBusy: () => boolean }} hooks
   */
  constructor(carried, hooks) {
    this.carried = carried;
    this.hooks = hooks;
    this.said = byId("own-said", HTMLElement);
    this.trouble = byId("own-trouble", HTMLElement);
    this.file = byId("file", HTMLInputElement);
    this.ownBack = byId("own-back", HTMLButtonElement);
    this.tries = 0;
    this.file.addEventListener("change", () => {
      this.take(this.file.files?.[0]);
      this.file.value = "";
    });
    this.ownBack.addEventListener("click", () => this.back());
    for (const kind of ["dragenter", "dragover"]) {
      document.addEventListener(kind, (event) => { event.preventDefault(); document.body.classList.add("dragging"); });
    }
    document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dragging"); });
    document.addEventListener("drop", (event) => {
      event.preventDefault();
      document.body.classList.remove("dragging");
      this.take(event.dataTransfer?.files[0]);
    });
  }

  /**
   * Tells how it goes, or what went wrong; the one takes the other's place.
   *
   * @param {string} said
   * @param {string} trouble
   */
  tell(said, trouble = "") {
    this.said.textContent = said;
    this.trouble.textContent = trouble;
    this.trouble.hidden = trouble === "";
  }

  /** @param {File | undefined} file */
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
      this.ownBack.hidden = false;
    } catch (error) {
      if (own === this.tries) this.tell("", `${file.name} was not taken: ${reasonOf(error)}. Nothing has changed.`);
    }
  }

  async back() {
    const own = ++this.tries;
    if (!await this.hooks.load(this.carried) || own !== this.tries) return;
    this.tell("Playing the page's own sound again.");
    this.ownBack.hidden = true;
    this.file.focus();
  }

  /** @param {boolean} locked */
  lock(locked) {
    this.file.disabled = locked;
    this.ownBack.disabled = locked;
  }
}
