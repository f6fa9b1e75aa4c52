// The page: what is pressed, turned and dropped, and what is shown of it.

/** @type {(id: string) => HTMLElement} */
const $ = (id) => byId(id, HTMLElement);
/** @type {SetData} */
const set = JSON.parse($("set").textContent);
const carried = carriedSound(set, $("sound").textContent);
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const mixer = new Mixer(set, new Calls(set, $("engine").textContent), {
  drawn: (index, magnitudes) => curves.take(index, magnitudes),
  changed: showKnown,
  refused: (index, why) => trouble(`With the controls so, ${set.voices[index].title} cannot be played: ${why}. It sounds as it did before.`),
  failed: (error) => trouble(`Something went wrong here: ${reasonOf(error)}. The files beside this page can be played by other means.`),
});
/** @type {Cards} */
let cards;
/** @type {Curves} */
let curves;
/** @type {Wave} */
let wave;
/**
 * The knobs; none where the voices do not follow them.
 *
 * @type {Knobs | null}
 */
let knobs;
/** @type {Blind} */
let blind;
/** @type {Own} */
let own;
let frame = 0;

/** @param {string} text */
function say(text) {
  $("said").textContent = text;
}

/** @param {string} text */
function trouble(text) {
  $("trouble").textContent = text;
  $("trouble").hidden = text === "";
}

// Playing.

function play(from = wave.position) {
  try {
    mixer.open();
  } catch (error) {
    trouble(`This browser cannot play at ${carried.rate} Hz (${reasonOf(error)}); the files beside this page can be played by other means.`);
    return;
  }
  const { player, card } = mixer;
  if (!player) return;
  card?.resume();
  player.onended = () => { wave.moveTo(0); showPlaying(); };
  player.loops = $("loop").getAttribute("aria-pressed") === "true";
  player.region = wave.region;
  const [start, end] = wave.region;
  const inside = !player.loops || (from >= start && from < end);
  player.play(inside && from < player.sound.length ? Math.round(from) : start);
  showPlaying();
}

function stop() {
  if (mixer.player) wave.moveTo(mixer.player.stop());
  showPlaying();
}

function isPlaying() {
  return Boolean(mixer.player?.source);
}

function playOrPause() {
  if (isPlaying()) stop();
  else play();
}

function showPlaying() {
  $("play").classList.toggle("playing", isPlaying());
  $("play").setAttribute("aria-label", isPlaying() ? "Pause" : "Play");
  if (isPlaying() && !frame) frame = requestAnimationFrame(everyFrame);
}

let shownAt = 0;

/** @param {number} time */
function everyFrame(time) {
  frame = isPlaying() ? requestAnimationFrame(everyFrame) : 0;
  if (calm.matches && time - shownAt < 250) return;
  shownAt = time;
  if (isPlaying()) wave.moveTo(here());
  showTime();
  showMeter();
}

/** Returns the frame that is heard, or where playing would begin. */
function here() {
  return mixer.player && isPlaying() ? mixer.player.frame() : wave.position;
}

function showTime() {
  $("time").textContent = (wave.position / mixer.shown().rate).toFixed(1);
}

const heardNow = new Float32Array(2048);
let held = 0;

function showMeter() {
  heardNow.fill(0);
  if (isPlaying()) mixer.meter?.getFloatTimeDomainData(heardNow);
  const rms = Math.sqrt(heardNow.reduce((sum, x) => sum + x * x, 0) / heardNow.length);
  held = Math.max(largest(heardNow), held * 0.97);
  /** @type {(x: number) => number} */
  const decibels = (x) => Math.max(-60, 20 * Math.log10(Math.max(x, 1e-6)));
  /** @type {(x: number) => string} */
  const share = (x) => String((decibels(x) + 60) / 60);
  $("meter").style.setProperty("--rms", share(rms));
  $("meter").style.setProperty("--peak", share(held));
  $("meter").setAttribute("aria-valuenow", decibels(rms).toFixed(0));
  $("meter").setAttribute("aria-valuetext", `${decibels(rms).toFixed(0)} decibels`);
}

/** @param {number} to */
function seek(to) {
  const [start, end] = wave.region;
  const { length } = mixer.shown();
  if (to < start || to >= end) wave.setRegion(0, length);
  showWhole();
  wave.moveTo(Math.min(to, length - 1));
  showTime();
  if (isPlaying()) play(wave.position);
}

/** @param {boolean} on */
function setLoop(on) {
  $("loop").setAttribute("aria-pressed", String(on));
  if (isPlaying()) play(here());
}

let regionTimer = 0;

function region() {
  $("loop").setAttribute("aria-pressed", "true");
  showWhole();
  clearTimeout(regionTimer);
  // While a flag is dragged the sound goes on as it was.
  regionTimer = setTimeout(() => { if (isPlaying()) play(here()); }, 150);
}

function loopAll() {
  wave.setRegion(0, mixer.shown().length);
  region();
  $("loop").focus();
}

function showWhole() {
  const [start, end] = wave.region;
  $("whole").hidden = start === 0 && end === mixer.shown().length;
}

/** @param {0 | 1} which the loop's start or its end */
function loopFrom(which) {
  const now = Math.round(here());
  const [start, end] = wave.region;
  if (which === 0) wave.bound(now, end, 0);
  else wave.bound(start, now, 1);
}

// Arrangements, levels, knobs.

/**
 * @param {number} index
 * @param {boolean} spoken
 */
function choose(index, spoken = true) {
  if (index >= set.voices.length || blind.running) return;
  cards.choose(index);
  mixer.choose(index);
  curves.choose(index);
  $("wave").className = `wave hue-${set.voices[index].look.hue}`;
  if (spoken) say(`${set.voices[index].title}, ${mixer.matched ? "equally loud" : "true level"}`);
}

/** Shows what is known of the voices by now, and whether the figures below still hold. */
function showKnown() {
  const { asFiled, ready } = mixer;
  const count = set.voices.length;
  const loading = !mixer.sound ? "Reading the sound …" : ready < count ? `Working out ${count} arrangements …`
    : mixer.behind.patient(false) ? "Working out what is heard behind the amplifier …" : "";
  if ($("loading").textContent !== loading) $("loading").textContent = loading;
  if (mixer.sound) cards.show(set.voices.map((_, index) => answerOf(mixer, index)));
  for (const note of document.querySelectorAll(".figures-hold")) {
    if (note instanceof HTMLElement) note.hidden = asFiled || !mixer.sound;
  }
  document.body.classList.toggle("moved", !asFiled);
  document.body.classList.toggle("amplified", mixer.behind.setting !== null);
}

/** @type {(id: string) => HTMLInputElement[]} */
const inputsIn = (id) => [...$(id).querySelectorAll("input")];

/** Returns the inputs that choose between matched and true levels, in that order. */
const levelInputs = () => inputsIn("levels");

/** @param {boolean} matched */
function setMatched(matched) {
  const inputs = levelInputs();
  if (inputs[0].disabled) return;
  inputs[matched ? 0 : 1].checked = true;
  mixer.setMatched(matched);
  say(matched ? "equally loud" : "true level");
}

// The amplifier.

/** Shows the settings that there are, in a player's words first. */
function showAmplifier() {
  const { amplifier } = set;
  $("amplified").hidden = !amplifier;
  if (!amplifier) return;
  /** @type {(place: number | null, answer: string, name: string) => HTMLElement} */
  const choice = (place, answer, name) => {
    const input = made("input", "");
    Object.assign(input, { type: "radio", name: "amplifier", value: place ?? "", checked: place === amplifier.files });
    input.addEventListener("change", () => {
      mixer.amplify(place);
      showKnown();
    });
    return made("label", "", input, made("span", "", answer, made("span", "small", name)));
  };
  $("amplifier").append(choice(null, "not heard", "off, at the jack"), ...amplifier.settings.map(({ answer, name }, place) => choice(place, answer, name)));
}

/**
 * Returns where the knobs stand.
 *
 * @returns {Turned}
 */
function turnedNow() {
  const home = homeOf(set);
  if (!knobs) return home;
  const { volume, tone, cable } = knobs;
  return {
    volume: volume?.value ?? home.volume,
    tone: tone?.value ?? home.tone,
    cable: cable.value === cable.home ? home.cable : cable.value * 1e-12,
  };
}

/** Returns the knobs that there are. */
function allKnobs() {
  return knobs ? [knobs.volume, knobs.tone, knobs.cable].filter((knob) => knob !== undefined) : [];
}

let turning = 0;

function onturn() {
  $("back").hidden = allKnobs().every((knob) => knob.value === knob.home);
  if (turning) return;
  turning = requestAnimationFrame(() => {
    turning = 0;
    trouble("");
    mixer.turn(turnedNow());
    showKnown();
  });
}

function showKnobs() {
  const all = allKnobs();
  if (all.length === 0) {
    $("knobs").append(made("p", "small", "This set was made with the resonance alone (the second-order model); its controls stand where the guitar's file has them."));
    return;
  }
  const back = made("button", "quiet", "Back to the guitar file's positions");
  Object.assign(back, { id: "back", type: "button", hidden: true });
  back.addEventListener("click", () => {
    for (const knob of all) knob.turn(knob.home);
    all[0].face.focus();
  });
  $("knobs").append(...all.map((knob) => knob.root), made("p", "back", back));
}

function setListeningLevel() {
  const decibels = byId("level", HTMLInputElement).valueAsNumber;
  const shown = decibels === 0 ? "0 dB" : `−${-decibels} dB`;
  $("level-shown").textContent = shown;
  $("level").setAttribute("aria-valuetext", shown);
  mixer.setLevel(10 ** (decibels / 20));
}

// Blind comparison: while it runs nothing on the page tells which voice is heard.

function blindHooks() {
  let before = { chosen: set.baseline, matched: true };
  return {
    /** @param {number[]} compared */
    async begin(compared) {
      // What had yet to be worked out would tell itself by coming later.
      mixer.compare(compared);
      /** @type {(index: number) => boolean} */
      const isThere = (index) => [mixer.now[index].at, mixer.now[index].refusedAt].includes(mixer.turned);
      while (!compared.every((index) => isThere(index) && mixer.behind.isThere(index))) await pause();
      before = { chosen: mixer.chosen, matched: mixer.matched };
      document.body.classList.add("blind");
      lock(true);
      mixer.setMatched(true);
      curves.choose(null);
      $("wave").className = "wave";
      if (!isPlaying()) play(wave.region[0]);
    },
    /** @param {number} index */
    hear(index) {
      mixer.choose(index);
    },
    end() {
      document.body.classList.remove("blind");
      lock(false);
      mixer.compare([]);
      setMatched(before.matched);
      choose(before.chosen, false);
    },
  };
}

/** @param {boolean} locked */
function lock(locked) {
  cards.lock(locked);
  for (const input of levelInputs()) {
    input.disabled = locked;
    if (locked) input.checked = false;
  }
  for (const input of inputsIn("amplifier")) input.disabled = locked;
  for (const knob of allKnobs()) knob.disable(locked);
  own.lock(locked);
  if (knobs) byId("back", HTMLButtonElement).disabled = locked;
}

// The sound.

/**
 * Puts a sound into the mixer; returns whether it is there, and not another that was wanted since.
 *
 * @param {Sound} sound
 */
async function load(sound) {
  if (!await mixer.load(sound, () => { if (mixer.player && isPlaying()) stop(); })) return false;
  wave.show(sound);
  showWhole();
  showPlaying();
  $("length").textContent = ` / ${(sound.length / sound.rate).toFixed(1)} s`;
  showTime();
  showKnown();
  return true;
}

// Keys.

/** @type {Record<string, () => void>} */
const keys = {
  " ": playOrPause,
  m: () => setMatched(!mixer.matched),
  l: () => setLoop($("loop").getAttribute("aria-pressed") !== "true"),
  "[": () => loopFrom(0),
  "]": () => loopFrom(1),
};

/** @param {KeyboardEvent} event */
function onkey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || !byId("keys", HTMLInputElement).checked) return;
  const key = event.key.toLowerCase();
  const { target } = event;
  if (!(target instanceof Element)) return;
  const writes = target.matches("select, textarea, input:not([type=radio]):not([type=range])");
  const presses = key === " " && target.matches("button, summary, a");
  if (writes || presses) return;
  /** @type {(() => void) | undefined} */
  let act = keys[key];
  if (blind.running) {
    if (["a", "b", "x"].includes(key)) act = () => blind.hear(key);
    else if (["1", "2"].includes(key)) act = () => blind.answer(key === "1" ? "a" : "b");
    else if (key !== " ") return;
  } else if (/^[1-9]$/.test(key)) {
    act = () => choose(+key - 1);
  }
  if (!act) return;
  event.preventDefault();
  act();
}

function listen() {
  $("play").addEventListener("click", playOrPause);
  $("loop").addEventListener("click", keys.l);
  $("whole").addEventListener("click", loopAll);
  $("level").addEventListener("input", setListeningLevel);
  for (const input of levelInputs()) {
    input.addEventListener("change", () => setMatched(input.value === "matched"));
  }
  document.addEventListener("keydown", onkey);
}

async function begin() {
  cards = new Cards($("arrangements"), set, (index) => choose(index, false));
  curves = new Curves($("curves"), set);
  curves.choose(mixer.chosen);
  knobs = set.turnable ? knobsOf(set, onturn) : null;
  showKnobs();
  showAmplifier();
  wave = new Wave($("wave"), { seek, region });
  $("wave").className = `wave hue-${set.voices[mixer.chosen].look.hue}`;
  blind = new Blind($("blind"), set, blindHooks());
  $("blind").hidden = set.voices.length < 2;
  own = new Own(carried, { load, isBusy: () => blind.running });
  placeNotes();
  setListeningLevel();
  showKnown();
  await load(carried);
  listen();
  showMeter();
  await check(mixer);
  document.body.classList.add("ready");
}

begin().catch((error) => {
  trouble(`This page cannot work in this browser: ${reasonOf(error)}.`);
  throw error;
});
