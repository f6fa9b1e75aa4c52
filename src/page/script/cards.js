// The cards: one a voice, the one that is heard marked, with what it does to the sound.

class Cards {
  /**
   * `onchoose(index)` is called where a card is pressed.
   *
   * @param {HTMLElement} root
   * @param {SetData} set
   * @param {(index: number) => void} onchoose
   */
  constructor(root, set, onchoose) {
    this.set = set;
    this.cards = set.voices.map((voice, index) => this.card(voice, index, onchoose));
    root.append(...this.cards.map(({ label }) => label));
  }

  /**
   * @param {VoiceData} voice
   * @param {number} index
   * @param {(index: number) => void} onchoose
   */
  card(voice, index, onchoose) {
    const { set } = this;
    const input = made("input", "");
    Object.assign(input, { type: "radio", name: "arrangement", value: index, checked: index === set.baseline });
    input.addEventListener("change", () => onchoose(index));
    const number = made(index < 9 ? "kbd" : "span", "number", String(index + 1));
    const name = made("span", "name", number, ...broken(voice.title));
    const key = made("span", partsOf(voice.name).length > 1 ? "key parted" : "key", ...broken(voice.name));
    const answer = made("span", "answer");
    const figure = made("span", "figure");
    const told = made("span", "told", name, key, answer, figure, ...(voice.what ? [made("span", "what", voice.what)] : []));
    const label = made("label", `arrangement hue-${voice.look.hue}`, input, made("span", "ring"), told,
      made("span", "shape", sample(voice.look), ...joints(voice.drawing)));
    label.addEventListener("pointerdown", (event) => { if (event.button === 0) onchoose(index); });
    return { label, input, answer, figure };
  }

  /** @param {number} index */
  choose(index) {
    this.cards[index].input.checked = true;
  }

  /** @param {boolean} locked */
  lock(locked) {
    for (const { input } of this.cards) {
      input.disabled = locked;
      if (locked) input.checked = false;
    }
  }

  /**
   * Shows what the voices do; what is not known yet is left as it is, and marked.
   *
   * @param {(Answer | null)[]} answers
   */
  show(answers) {
    answers.forEach((answer, index) => {
      const { label, answer: words, figure } = this.cards[index];
      const isBaseline = index === this.set.baseline;
      const isBehind = answer?.behind !== undefined;
      label.classList.toggle("waiting", !answer || (!isBaseline && answer.behind === null));
      if (!answer) return;
      const { behind } = answer;
      const text = isBaseline ? "what the others are told against"
        : !isBehind ? answer.words : `at the jack ${answer.words}; at the loudspeaker ${behind ? behind.words : "…"}`;
      if (words.textContent !== text) words.textContent = text;
      figure.replaceChildren();
      if (isBaseline) return;
      figure.append(...loudness(answer));
      if (!isBehind) return;
      figure.append(" at the jack");
      if (behind) figure.append(" · ", ...loudness(behind), " at the loudspeaker");
    });
  }
}

/**
 * Returns a loudness against the baseline's with its unit; nothing where there is none.
 *
 * @param {Told} told
 * @returns {(string | Node)[]}
 */
function loudness({ loudness, isApproximate }) {
  if (loudness === null) return [];
  const unit = made("abbr", "", "LU");
  unit.title = "loudness units";
  return [`${isApproximate ? "≈ " : ""}${loudness >= 0.05 ? "+" : ""}${signed(loudness, 1)} `, unit];
}

/**
 * Returns a voice's line as its curve has it.
 *
 * @param {VoiceData["look"]} look
 */
function sample({ dash }) {
  const line = drawn("path", { d: "M2 4H40", "stroke-dasharray": dashes(dash, 2.5) });
  return drawn("svg", { class: "sample", viewBox: "0 0 42 8", "aria-hidden": "true" }, line);
}

/**
 * Returns a dash pattern, in widths of the line, for a line of `width`.
 *
 * @param {number[]} pattern
 * @param {number} width
 */
function dashes(pattern, width) {
  return pattern.map((length) => length * width).join(" ") || "none";
}
