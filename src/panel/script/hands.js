// @ts-check
// Soldering by hand: an end is picked up and put down, by two presses, by dragging or by the keyboard alike.
//
// A `.target` is what an end can be on (`data-terminal` its name, `data-words` the same in words), a `.reach` a wire between two of
// them. What is put down is sent with the action of the part around it (`data-put`); what it does is worked out by the program.

import { ARROWS, comeBack, freed, gripped, sent, taken } from "./grip.js";

/** @typedef {{ fixed: string, was: string, words: string }} Way */
/** What is in hand: from where it was picked up, what it may be there, and which of these it is. @type {{ source: string, ways: Way[], at: number } | null} */
let held = null;

const overlay = document.createElementNS("http://www.w3.org/2000/svg", "svg");
overlay.setAttribute("class", "held-wire");
overlay.setAttribute("aria-hidden", "true");
const line = document.createElementNS("http://www.w3.org/2000/svg", "line");
overlay.append(line);
document.body.append(overlay);

/** @type {(name: string) => Element | null} */
const target = (name) => document.querySelector(`.target[data-terminal="${CSS.escape(name)}"]`);
/** @type {(of: Element | null) => string} */
const nameOf = (of) => of?.getAttribute("data-terminal") ?? "";
/** @type {(name: string) => string} */
const words = (name) => target(name)?.getAttribute("data-words") ?? name;
const way = () => held && held.ways[held.at];

/** Returns the middle of a target on the screen. @type {(of: Element) => [number, number]} */
function middle(of) {
  const [x, y] = ["data-x", "data-y"].map((name) => of.getAttribute(name));
  const svg = of instanceof SVGElement ? of.ownerSVGElement : null;
  const matrix = svg?.getScreenCTM();
  if (x !== null && y !== null && matrix) {
    const at = new DOMPoint(Number(x), Number(y)).matrixTransform(matrix);
    return [at.x, at.y];
  }
  const { left, top, width, height } = of.getBoundingClientRect();
  return [left + width / 2, top + height / 2];
}

/** Leads the line from where the wire stays to a point of the screen. @type {(to: [number, number]) => void} */
function lead([x, y]) {
  line.setAttribute("x2", String(x));
  line.setAttribute("y2", String(y));
}

/** Tells what is in hand, and offers what can be done with it. */
function tell() {
  const own = way();
  for (const other of document.querySelectorAll('.target[aria-pressed="true"]')) other.setAttribute("aria-pressed", "false");
  for (const wire of document.querySelectorAll(".lifted")) wire.classList.remove("lifted");
  const hand = document.getElementById("hand");
  if (hand) hand.textContent = own ? `In hand: ${own.words}` : hand.dataset.none ?? "";
  const source = held ? target(held.source) : null;
  const can = { "hand-next": (held?.ways.length ?? 0) > 1, "hand-off": own ? own.was !== "" || source?.hasAttribute("data-on") : false, "hand-back": Boolean(own) };
  for (const [id, is] of Object.entries(can)) {
    const button = document.getElementById(id);
    if (button instanceof HTMLButtonElement) button.disabled = !is;
  }
  overlay.classList.toggle("is-held", Boolean(own));
  if (!held || !own) return;
  source?.setAttribute("aria-pressed", "true");
  const [from, to] = [target(own.fixed), source].map((of) => of && middle(of));
  if (from) {
    line.setAttribute("x1", String(from[0]));
    line.setAttribute("y1", String(from[1]));
  }
  if (to) lead(to);
  if (own.was) drawnWire(own)?.classList.add("lifted");
}

/** Returns a wire as it is drawn. @type {(own: Way) => Element | null} */
function drawnWire({ fixed, was }) {
  const reach = [...document.querySelectorAll(".reach")].find((of) => isOn(of, fixed) && isOn(of, was));
  const number = reach?.getAttribute("data-number");
  return number ? document.querySelector(`[data-hands] .wire[data-wire="${CSS.escape(number)}"]`) : null;
}

/** @type {(reach: Element, name: string) => boolean} */
const isOn = (reach, name) => reach.getAttribute("data-one") === name || reach.getAttribute("data-other") === name;

/** Returns the way of a wire of which the end at `near` is picked up; a lead's own end stays, and its other end is. @type {(reach: Element, near: string) => Way} */
function wayOf(reach, near) {
  const [one, other] = [reach.getAttribute("data-one") ?? "", reach.getAttribute("data-other") ?? ""];
  const far = near === one ? other : one;
  const isLead = target(near)?.hasAttribute("data-lead") && !target(far)?.hasAttribute("data-lead");
  const [fixed, was] = isLead ? [near, far] : [far, near];
  return { fixed, was, words: `wire ${reach.getAttribute("data-number")} from ${words(fixed)}, so far on ${words(was)}.` };
}

/** Returns the ends that are at a target. @type {(name: string) => Way[]} */
const endsAt = (name) => [...document.querySelectorAll(".reach")].filter((reach) => isOn(reach, name)).map((reach) => wayOf(reach, name));

/** Returns a new wire from a target that there may be beside `ends`; none from a lead that is on something. @type {(name: string, ends: Way[]) => Way[]} */
function newAt(name, ends) {
  const own = target(name);
  if (ends.length > 0 && own?.hasAttribute("data-lead")) return [];
  const called = own?.getAttribute("data-new") ?? `a new wire from ${words(name)}`;
  const more = ends.length > 0 ? " Press there again for what is on it." : "";
  return [{ fixed: name, was: "", words: `${called}.${more}` }];
}

/** Returns all that a drag may begin at a target, what is on it first. @type {(name: string) => Way[]} */
function draggedAt(name) {
  const ends = endsAt(name);
  return [...ends, ...newAt(name, ends)];
}

/** Returns all that a press may pick up at a target: a new wire first, for joints are soldered in any order, and what is on it. @type {(name: string) => Way[]} */
function pressedAt(name) {
  const ends = endsAt(name);
  return [...newAt(name, ends), ...ends];
}

/** @type {(source: string, ways: Way[]) => void} */
function pick(source, ways) {
  held = { source, ways, at: 0 };
  taken();
  tell();
}

/** Empties the hand. */
function release() {
  held = null;
  tell();
  freed();
}

function putBack() {
  const source = held ? target(held.source) : null;
  release();
  if (source instanceof HTMLElement || source instanceof SVGElement) source.focus({ preventScroll: true });
}

/** Puts what is in hand down, or takes it off where it goes nowhere. @type {(to: string) => void} */
function put(to) {
  const own = way();
  const source = held && target(held.source);
  const action = source?.closest("[data-put]")?.getAttribute("data-put");
  if (!own || !action) return;
  if ((to !== "" && to === own.was) || to === own.fixed) {
    putBack();
    return;
  }
  const form = { fixed: own.fixed, was: own.was, to };
  const [drawn, end] = [drawnWire(own), target(to)];
  release();
  // Until it is drawn anew the line stays where it was put.
  drawn?.classList.add("lifted");
  if (end) {
    overlay.classList.add("is-held");
    lead(middle(end));
  }
  sent(action, form);
}

/** Puts what is in hand down, and what can only be put back where it is taken off, back. @type {(to: string) => void} */
function drop(to) {
  if (to !== "" || !document.getElementById("hand-off")?.hasAttribute("disabled")) put(to);
  else if (held) putBack();
}

/** Picks up what is at a target, or puts down there; at the same target again it is the next that is there. @type {(of: Element) => void} */
function press(of) {
  const name = nameOf(of);
  if (!held) pick(name, pressedAt(name));
  else if (name === held.source) next();
  else put(name);
}

/** Takes the next that is where one was picked up into the hand, and after the last nothing. */
function next() {
  if (!held) return;
  held.at += 1;
  if (held.at < held.ways.length) tell();
  else putBack();
}

/** Picks up the end of a wire that is nearer to a point of the screen. @type {(reach: Element, x: number, y: number) => void} */
function pickWire(reach, x, y) {
  const names = [reach.getAttribute("data-one") ?? "", reach.getAttribute("data-other") ?? ""];
  const far = names.map((name) => {
    const of = target(name);
    const [a, b] = of ? middle(of) : [Infinity, Infinity];
    return Math.hypot(a - x, b - y);
  });
  const own = wayOf(reach, names[far[0] <= far[1] ? 0 : 1]);
  pick(own.was, [own]);
}

/** @type {(x: number, y: number) => Element | null} */
const under = (x, y) => document.elementFromPoint(x, y)?.closest(".target, [data-off]") ?? null;
const overNow = () => document.querySelector(".over");

const isPressed = gripped({
  isHeld: () => held !== null,
  under: (of) => of.closest(".target, .reach"),
  pick(of, x, y) {
    if (held) return true;
    if (of.matches(".reach")) pickWire(of, x, y);
    else pick(nameOf(of), draggedAt(nameOf(of)));
    return true;
  },
  lead({ clientX: x, clientY: y }) {
    lead([x, y]);
    const over = under(x, y);
    if (over === overNow()) return;
    overNow()?.classList.remove("over");
    over?.classList.add("over");
  },
  drop({ clientX: x, clientY: y }) {
    overNow()?.classList.remove("over");
    const to = under(x, y);
    if (to) drop(nameOf(to));
    else putBack();
  },
  back: putBack,
  press(event) {
    const of = event.target instanceof Element ? event.target.closest(".target, .reach, [data-off], #hand-next, #hand-off, #hand-back") : null;
    if (!of) return;
    if (of.id === "hand-next") next();
    else if (of.id === "hand-off") put("");
    else if (of.id === "hand-back") putBack();
    else if (of.matches("[data-off]")) drop("");
    else if (of.matches(".target")) {
      if (of instanceof SVGElement) of.focus({ preventScroll: true });
      press(of);
    } else if (!held) pickWire(of, event.clientX, event.clientY);
  },
  key(event) {
    const of = event.target instanceof Element ? event.target.closest(".target") : null;
    if (!of) return;
    const arrow = ARROWS.get(event.key);
    if (held && (event.key === "Delete" || event.key === "Backspace") && !document.getElementById("hand-off")?.hasAttribute("disabled")) {
      event.preventDefault();
      put("");
    } else if (of instanceof SVGElement && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      press(of);
    } else if (of instanceof SVGElement && arrow) {
      event.preventDefault();
      neighbour(of, arrow[0], arrow[1])?.focus();
    }
  },
});
comeBack(".target");

/** Returns the target that lies next in a direction. @type {(of: SVGElement, x: number, y: number) => SVGElement | null} */
function neighbour(of, x, y) {
  const at = (/** @type {Element} */ own) => [Number(own.getAttribute("data-x")), Number(own.getAttribute("data-y"))];
  const [left, top] = at(of);
  let [best, least] = [/** @type {SVGElement | null} */ (null), Infinity];
  for (const other of of.ownerSVGElement?.querySelectorAll(".target") ?? []) {
    const [a, b] = at(other);
    const along = (a - left) * x + (b - top) * y;
    const aside = Math.abs((a - left) * y) + Math.abs((b - top) * x);
    const far = along + 2 * aside;
    if (along > 1 && far < least && other instanceof SVGElement) [best, least] = [other, far];
  }
  return best;
}

document.addEventListener("focusin", ({ target: of }) => {
  if (held && !isPressed() && of instanceof Element && of.matches(".target")) lead(middle(of));
});

document.addEventListener("swapped", (event) => {
  const isPart = event instanceof CustomEvent && event.detail.isPart;
  // What was in hand is drawn anew, and may be gone.
  if (held && !isPart) release();
  const isRefused = document.querySelector("#summary .notice") !== null;
  if (!held && (!isPart || isRefused)) {
    overlay.classList.remove("is-held");
    tell();
  }
});

for (const happening of ["scroll", "resize"]) addEventListener(happening, () => { if (held) tell(); }, { capture: true, passive: true });
