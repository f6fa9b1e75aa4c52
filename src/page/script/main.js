// The page: what is pressed, turned and dropped, and what is shown of it.

const $ = (id) => document.getElementById(id);
const set = JSON.parse($("set").textContent);
const carried = carriedSound(set, $("sound").textContent);
const desk = new Desk(set);
const calm = matchMedia("(prefers-reduced-motion: reduce)");
let wave, knobs, curves, blind;
let frames = 0;

function say(text) {
  $("said").textContent = text;
}

function trouble(text) {
  $("trouble").textContent = text;
  $("trouble").hidden = text === "";
}

// Playing.

function play(from = wave.position) {
  try {
    desk.open();
  } catch (error) {
    trouble(`This browser cannot play at ${desk.sound.rate} Hz (${error.message}); the files beside this page can be played by other means.`);
    return;
  }
  const { player } = desk;
  player.context.resume();
  player.onended = () => { wave.moveTo(0); showPlaying(); };
  player.loops = $("loop").getAttribute("aria-pressed") === "true";
  player.region = wave.region;
  const [start, end] = wave.region;
  const inside = !player.loops || (from >= start && from < end);
  player.play(inside && from < desk.sound.length ? Math.round(from) : start);
  showPlaying();
}

function stop() {
  wave.moveTo(desk.player.stop());
  showPlaying();
}

function isPlaying() {
  return Boolean(desk.player?.source);
}

function playOrPause() {
  isPlaying() ? stop() : play();
}

function showPlaying() {
  $("play").classList.toggle("playing", isPlaying());
  $("play").setAttribute("aria-label", isPlaying() ? "Pause" : "Play");
  if (isPlaying() && !frames) frames = requestAnimationFrame(everyFrame);
}

let shownAt = 0;

function everyFrame(time) {
  frames = isPlaying() ? requestAnimationFrame(everyFrame) : 0;
  if (calm.matches && time - shownAt < 250) return;
  shownAt = time;
  if (isPlaying()) wave.moveTo(desk.player.frame());
  showTime();
  showMeter();
}

function showTime() {
  $("time").textContent = (wave.position / desk.sound.rate).toFixed(1);
}

const heardNow = new Float32Array(2048);
let held = 0;

function showMeter() {
  heardNow.fill(0);
  if (isPlaying()) desk.meter.getFloatTimeDomainData(heardNow);
  const rms = Math.sqrt(heardNow.reduce((sum, x) => sum + x * x, 0) / heardNow.length);
  held = Math.max(largest(heardNow), held * 0.97);
  const decibels = (x) => Math.max(-60, 20 * Math.log10(Math.max(x, 1e-6)));
  const share = (x) => (decibels(x) + 60) / 60;
  $("meter").style.setProperty("--rms", share(rms));
  $("meter").style.setProperty("--peak", share(held));
  $("meter").setAttribute("aria-valuenow", decibels(rms).toFixed(0));
  $("meter").setAttribute("aria-valuetext", `${decibels(rms).toFixed(0)} decibels`);
}

function seek(frame) {
  const [start, end] = wave.region;
  if (frame < start || frame >= end) wave.setRegion(0, desk.sound.length);
  showWhole();
  wave.moveTo(Math.min(frame, desk.sound.length - 1));
  showTime();
  if (isPlaying()) play(wave.position);
}

function setLoop(on) {
  $("loop").setAttribute("aria-pressed", on);
  if (isPlaying()) play(desk.player.frame());
}

let regionTimer = 0;

function region() {
  $("loop").setAttribute("aria-pressed", true);
  showWhole();
  clearTimeout(regionTimer);
  // While a flag is dragged the sound goes on as it was.
  regionTimer = setTimeout(() => { if (isPlaying()) play(desk.player.frame()); }, 150);
}

function loopAll() {
  wave.setRegion(0, desk.sound.length);
  region();
  $("loop").focus();
}

function showWhole() {
  const [start, end] = wave.region;
  $("whole").hidden = start === 0 && end === desk.sound.length;
}

function loopFrom(which) {
  const here = Math.round(isPlaying() ? desk.player.frame() : wave.position);
  which === 0 ? wave.bound(here, wave.region[1], 0) : wave.bound(wave.region[0], here, 1);
}

// Arrangements, levels, knobs.

function choose(index, spoken = true) {
  const input = document.querySelectorAll("#arrangements input")[index];
  if (!input || input.disabled) return;
  input.checked = true;
  desk.choose(index);
  curves.choose(index);
  if (spoken) say(`${set.voices[index].name}, ${desk.matched ? "matched" : "true"} levels`);
}

function buildArrangements() {
  set.voices.forEach((voice, i) => {
    const input = made("input", "");
    Object.assign(input, { type: "radio", name: "arrangement", value: i, checked: i === desk.chosen });
    input.addEventListener("change", () => choose(i, false));
    const name = made("span", partsOf(voice.name).length > 1 ? "name parted" : "name", ...broken(voice.name));
    if (i < 9) name.prepend(made("kbd", "", String(i + 1)));
    const what = made("span", "what", voice.title);
    const drop = made("span", "drop-level", i === set.baseline ? "reference" : voice.drop ?? "");
    const ring = made("span", "ring");
    const label = made("label", "arrangement", input, ring, made("span", "told", name, what, drop), ...joints(voice.drawing));
    label.addEventListener("pointerdown", (event) => { if (event.button === 0) choose(i, false); });
    $("arrangements").append(label);
  });
}

function setMatched(matched) {
  const inputs = document.querySelectorAll("#levels input");
  if (inputs[0].disabled) return;
  inputs[matched ? 0 : 1].checked = true;
  desk.setMatched(matched);
  say(matched ? "matched levels" : "true levels");
}

function turnedNow() {
  const turned = { cable: knobs.cable.value === knobs.cable.home ? homeOf(set).cable : knobs.cable.value * 1e-12 };
  for (const name of ["volume", "tone"]) if (knobs[name]) turned[name] = knobs[name].value;
  return { ...homeOf(set), ...turned };
}

let turning = 0;

function onturn() {
  $("back").hidden = Object.values(knobs).every((knob) => knob.value === knob.home);
  if (turning) return;
  turning = requestAnimationFrame(() => {
    turning = 0;
    desk.turn(turnedNow());
    curves.show(blind.running ? null : desk.chosen, desk.turned);
  });
}

function buildKnobs() {
  if (!set.turnable) {
    $("knobs").append(made("p", "small", "This set was made with the resonance alone (the second-order model); its controls stand where the guitar's file has them."));
    knobs = { cable: { value: 0, home: 0, disable() {} } };
    return;
  }
  knobs = knobsOf(set, onturn);
  const back = made("button", "quiet", "Back to the guitar file's positions");
  Object.assign(back, { id: "back", type: "button", hidden: true });
  back.addEventListener("click", () => {
    for (const knob of Object.values(knobs)) knob.turn(knob.home);
    Object.values(knobs)[0].face.focus();
  });
  $("knobs").append(...Object.values(knobs).map((knob) => knob.root), made("p", "back", back));
}

function setListeningLevel() {
  const decibels = +$("level").value;
  const shown = decibels === 0 ? "0 dB" : `−${-decibels} dB`;
  $("level-shown").textContent = shown;
  $("level").setAttribute("aria-valuetext", shown);
  desk.setLevel(10 ** (decibels / 20));
}

// Blind comparison: while it runs nothing on the page tells which voice is heard.

let before = null;

const hooks = {
  begin() {
    before = { chosen: desk.chosen, matched: desk.matched };
    document.body.classList.add("blind");
    lock(true);
    desk.setMatched(true);
    curves.choose(null);
    if (!isPlaying()) play(wave.region[0]);
  },
  hear(index) {
    desk.choose(index);
  },
  end() {
    document.body.classList.remove("blind");
    lock(false);
    setMatched(before.matched);
    choose(before.chosen, false);
  },
};

function lock(locked) {
  for (const input of document.querySelectorAll("#arrangements input, #levels input")) {
    input.disabled = locked;
    if (locked) input.checked = false;
  }
  for (const knob of Object.values(knobs)) knob.disable(locked);
  $("file").disabled = locked;
  $("own-back").disabled = locked;
  if ($("back")) $("back").disabled = locked;
}

// Own sound.

async function takeFile(file) {
  if (!file || blind.running) return;
  $("own-said").textContent = `Reading ${file.name} …`;
  try {
    const { sound, left } = await ownSound(file, carried.rate);
    await load(sound);
    $("own-said").textContent = `Playing ${file.name}${left.length ? `: ${left.join(", ")}` : ""}. The figures below are still those of ${set.sound.file}.`;
    $("own-back").hidden = false;
  } catch (error) {
    $("own-said").textContent = `${file.name} was not taken: ${error.message}. Nothing has changed.`;
  }
}

async function load(sound) {
  if (desk.player) stop();
  if (!await desk.load(sound)) return;
  wave.show(sound);
  showWhole();
  $("length").textContent = ` / ${(sound.length / sound.rate).toFixed(1)} s`;
  showTime();
}

// Keys.

const keys = {
  " ": playOrPause,
  m: () => setMatched(!desk.matched),
  l: () => setLoop($("loop").getAttribute("aria-pressed") !== "true"),
  "[": () => loopFrom(0),
  "]": () => loopFrom(1),
};

function onkey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || !$("keys").checked) return;
  const key = event.key.toLowerCase();
  const target = event.target;
  const writes = target.matches("select, textarea, input:not([type=radio]):not([type=range])");
  const presses = key === " " && target.matches("button, summary, a");
  if (writes || presses) return;
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
  for (const input of document.querySelectorAll("#levels input")) {
    input.addEventListener("change", () => setMatched(input.value === "matched"));
  }
  document.addEventListener("keydown", onkey);
  $("file").addEventListener("change", (event) => {
    takeFile(event.target.files[0]);
    event.target.value = "";
  });
  $("own-back").addEventListener("click", async () => {
    await load(carried);
    $("own-said").textContent = "Playing the page's own sound again.";
    $("own-back").hidden = true;
    $("file").focus();
  });
  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, (event) => { event.preventDefault(); document.body.classList.add("dragging"); });
  }
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dragging"); });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    document.body.classList.remove("dragging");
    takeFile(event.dataTransfer.files[0]);
  });
}

async function begin() {
  buildArrangements();
  buildKnobs();
  wave = new Wave($("wave"), { seek, region });
  await load(carried);
  curves = new Curves($("curves"), set, desk.voices);
  curves.choose(desk.chosen);
  blind = new Blind($("blind"), set, hooks);
  $("blind").hidden = set.voices.length < 2;
  setListeningLevel();
  listen();
  showMeter();
  await check(desk);
  document.body.classList.add("ready");
}

begin().catch((error) => {
  trouble(`This page cannot work in this browser: ${error.message}.`);
  throw error;
});
