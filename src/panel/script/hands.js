// @ts-check
// Soldering by hand: an end is picked up and put down, by two presses, by dragging or by the keyboard alike.
//
// A `.target` is what an end can be on (`data-terminal` its name, `data-words` the same in words), a `.reach` a wire between two of
// them. What is put down is sent with the action of the part around it (`data-put`); what it does is worked out by the program.

/** So far a pointer moves, in pixels, before it drags. */
export const DRAGS = 5;

/** @typedef {{ fixed: string, was: string, words: string }} Way */
/** What is in hand: from where it was picked up, what it may be there, and which of these it is. @type {{ source: string, ways: Way[], at: number } | null} */
let held = null;
/** @type {{ from: Element, x: number, y: number, isDragging: boolean } | null} */
let pressed = null;
/** Whether the click that ends a drag is still to come. */
let isDragged = false;
/** The target on a drawing that one comes back to. */
let last = "";

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
  if (hand) hand.textContent = own ? `In hand: ${own.words}` : hand.dataset.how ?? "";
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

/** Returns all that can be picked up at a target. @type {(name: string) => Way[]} */
function waysAt(name) {
  const there = [...document.querySelectorAll(".reach")].filter((reach) => isOn(reach, name)).map((reach) => wayOf(reach, name));
  const own = target(name);
  if (there.length > 0 && own?.hasAttribute("data-lead")) return there;
  const called = own?.getAttribute("data-new") ?? `a new wire from ${words(name)}`;
  return [...there, { fixed: name, was: "", words: `${called}.` }];
}

/** @type {(source: string, ways: Way[]) => void} */
function pick(source, ways) {
  held = { source, ways, at: 0 };
  // News waits until the hand is empty.
  document.body.dataset.held = "";
  tell();
}

/** Empties the hand. */
function release() {
  held = null;
  tell();
  delete document.body.dataset.held;
  document.dispatchEvent(new CustomEvent("released"));
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
  document.dispatchEvent(new CustomEvent("put", { detail: { action, form } }));
}

/** Puts what is in hand down, and what can only be put back where it is taken off, back. @type {(to: string) => void} */
function drop(to) {
  if (to !== "" || !document.getElementById("hand-off")?.hasAttribute("disabled")) put(to);
  else if (held) putBack();
}

/** Picks up what is at a target, or puts down there; at the same target again it is the next that is there. @type {(of: Element) => void} */
function press(of) {
  const name = nameOf(of);
  if (!held) pick(name, waysAt(name));
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

document.addEventListener("pointerdown", (event) => {
  const from = event.target instanceof Element ? event.target.closest(".target, .reach") : null;
  isDragged = false;
  if (!from || event.button !== 0 || !event.isPrimary) return;
  pressed = { from, x: event.clientX, y: event.clientY, isDragging: false };
  // So that moves are told to what lies under a finger, and no text is marked.
  if (from.hasPointerCapture(event.pointerId)) from.releasePointerCapture(event.pointerId);
  if (from instanceof SVGElement) event.preventDefault();
});

document.addEventListener("pointermove", (event) => {
  const { clientX: x, clientY: y } = event;
  if (pressed && !pressed.isDragging && Math.hypot(x - pressed.x, y - pressed.y) > DRAGS) {
    pressed.isDragging = true;
    if (!held) {
      if (pressed.from.matches(".reach")) pickWire(pressed.from, pressed.x, pressed.y);
      else pick(nameOf(pressed.from), waysAt(nameOf(pressed.from)));
    }
  }
  if (!held) return;
  lead([x, y]);
  const over = under(x, y);
  if (over !== overNow()) {
    overNow()?.classList.remove("over");
    over?.classList.add("over");
  }
});

document.addEventListener("pointerup", (event) => {
  const was = pressed;
  pressed = null;
  if (!was?.isDragging) return;
  isDragged = true;
  overNow()?.classList.remove("over");
  const to = under(event.clientX, event.clientY);
  if (to) drop(nameOf(to));
  else putBack();
});

document.addEventListener("pointercancel", () => {
  if (pressed?.isDragging) putBack();
  pressed = null;
});

document.addEventListener("click", (event) => {
  if (isDragged) {
    isDragged = false;
    return;
  }
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
});

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

/** Whether a press takes something back. @type {(event: KeyboardEvent) => boolean} */
export const isUndo = ({ ctrlKey, metaKey, altKey, key }) => (ctrlKey || metaKey) && !altKey && key.toLowerCase() === "z";

/** Where the arrow keys lead. */
export const ARROWS = new Map([["ArrowLeft", [-1, 0]], ["ArrowRight", [1, 0]], ["ArrowUp", [0, -1]], ["ArrowDown", [0, 1]]]);

document.addEventListener("keydown", (event) => {
  if (held && (event.key === "Escape" || isUndo(event))) {
    event.preventDefault();
    putBack();
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const of = event.target instanceof Element ? event.target.closest(".target") : null;
  if (!of) return;
  if (held && (event.key === "Delete" || event.key === "Backspace") && !document.getElementById("hand-off")?.hasAttribute("disabled")) {
    event.preventDefault();
    put("");
  } else if (of instanceof SVGElement && (event.key === "Enter" || event.key === " ")) {
    event.preventDefault();
    press(of);
  } else if (of instanceof SVGElement && ARROWS.has(event.key)) {
    event.preventDefault();
    const [x, y] = ARROWS.get(event.key) ?? [0, 0];
    neighbour(of, x, y)?.focus();
  }
});

document.addEventListener("focusin", ({ target: of }) => {
  if (!(of instanceof Element) || !of.matches(".target")) return;
  if (of instanceof SVGElement) stay(of);
  if (held && !pressed) lead(middle(of));
});

/** Has the tabulator key come back to a target of a drawing. @type {(of: SVGElement) => void} */
function stay(of) {
  for (const other of of.ownerSVGElement?.querySelectorAll('.target[tabindex="0"]') ?? []) other.setAttribute("tabindex", "-1");
  of.setAttribute("tabindex", "0");
  last = of.id;
}

document.addEventListener("swapped", (event) => {
  const isPart = event instanceof CustomEvent && event.detail.isPart;
  // What was in hand is drawn anew, and may be gone.
  if (held && !isPart) release();
  const isRefused = document.querySelector("#summary .notice") !== null;
  if (!held && (!isPart || isRefused)) {
    overlay.classList.remove("is-held");
    tell();
  }
  const own = document.getElementById(last);
  if (own instanceof SVGElement) stay(own);
});

for (const happening of ["scroll", "resize"]) addEventListener(happening, () => { if (held) tell(); }, { capture: true, passive: true });
