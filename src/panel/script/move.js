// @ts-check
// Moves parts on the drawing of a cavity to where they lie: picked up and put down by two presses, by dragging or by the keyboard alike.
// Where they then stand, and how the wires are led, is worked out by the program.

import { ARROWS, comeBack, freed, gripped, sent, taken } from "./grip.js";

/** So far an arrow key moves a part, in pixels of the drawing; with shift five times as far. */
const STEP = 10;

/** Whether there may be a keyboard: where there is nothing but fingers there is none. */
const HAS_KEYS = matchMedia("(any-hover: hover)").matches;

let isMoving = false;
/** @type {{ part: SVGElement, right: number, down: number } | null} */
let held = null;
/** Where a part was picked up by the pointer. */
let from = { x: 0, y: 0 };

const hand = () => document.getElementById("hand");
const drawing = () => document.querySelector("svg[data-hands]");
/** @type {(of: EventTarget | null) => SVGElement | null} */
const movable = (of) => {
  const part = of instanceof Element ? of.closest(".movable") : null;
  return part instanceof SVGElement ? part : null;
};

function tell() {
  const own = hand();
  if (!own) return;
  own.textContent = held ? `In hand: ${held.part.dataset.name}. Press where it lies${HAS_KEYS ? ", or move it by the arrow keys: Enter puts it down, Escape puts it back" : ""}.` : own.dataset.none ?? "";
}

/** @type {(part: SVGElement) => void} */
function pick(part) {
  held = { part, right: 0, down: 0 };
  part.setAttribute("aria-pressed", "true");
  taken();
  tell();
}

/** @type {(right: number, down: number) => void} */
function lead(right, down) {
  if (!held) return;
  [held.right, held.down] = [right, down];
  held.part.setAttribute("transform", `translate(${right} ${down})`);
}

/** Empties the hand; the part is drawn where it was. */
function release() {
  held?.part.setAttribute("aria-pressed", "false");
  held = null;
  freed();
  tell();
}

function putBack() {
  const part = held?.part;
  part?.removeAttribute("transform");
  release();
  part?.focus({ preventScroll: true });
}

function put() {
  if (!held) return;
  const { part, right, down } = held;
  const action = part.closest("[data-move]")?.getAttribute("data-move");
  if (!action || (right === 0 && down === 0)) {
    putBack();
    return;
  }
  release();
  sent(action, { part: part.dataset.name ?? "", right: String(right), down: String(down) });
}

/** Leads the part to where the pointer is, by how far that is from where it was picked up, in pixels of the drawing. @type {(event: MouseEvent) => void} */
function leadTo(event) {
  const svg = drawing();
  const size = svg instanceof SVGSVGElement ? svg.getScreenCTM()?.a ?? 1 : 1;
  lead((event.clientX - from.x) / size, (event.clientY - from.y) / size);
}

gripped({
  isHeld: () => held !== null,
  under: movable,
  pick(of, x, y) {
    const part = movable(of);
    if (held || !part) return false;
    from = { x, y };
    pick(part);
    return true;
  },
  lead(event, isDragging) {
    if (isDragging || event.pointerType === "mouse") leadTo(event);
  },
  drop(event) {
    leadTo(event);
    put();
  },
  back: putBack,
  press(event) {
    const part = movable(event.target);
    if (held && event.target instanceof Element && event.target.id === "hand-back") {
      putBack();
    } else if (held && event.target instanceof Element && event.target.closest("svg[data-hands]")) {
      leadTo(event);
      put();
    } else if (part && !held) {
      part.focus({ preventScroll: true });
      from = { x: event.clientX, y: event.clientY };
      pick(part);
      const back = document.getElementById("hand-back");
      if (back instanceof HTMLButtonElement) back.disabled = false;
    }
  },
  key(event) {
    const part = movable(event.target);
    if (!part) return;
    const arrow = ARROWS.get(event.key);
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      if (held) put();
      else pick(part);
    } else if (arrow) {
      event.preventDefault();
      const far = STEP * (event.shiftKey ? 5 : 1);
      if (held) lead(held.right + arrow[0] * far, held.down + arrow[1] * far);
      else neighbour(part, arrow[0] + arrow[1])?.focus();
    }
  },
});
comeBack(".movable");

/** Returns the part before or after one, row by row. @type {(of: SVGElement, by: number) => SVGElement | null} */
function neighbour(of, by) {
  const all = [...of.ownerSVGElement?.querySelectorAll(".movable") ?? []];
  const next = all[all.indexOf(of) + by];
  return next instanceof SVGElement ? next : null;
}

function show() {
  // The drawing itself is told anew.
  document.body.classList.toggle("moving", isMoving);
  for (const own of document.querySelectorAll('[name="hands"]')) {
    if (own instanceof HTMLInputElement) own.checked = (own.value === "move") === isMoving;
  }
}

document.addEventListener("change", ({ target }) => {
  if (!(target instanceof HTMLInputElement) || target.name !== "hands") return;
  isMoving = target.value === "move";
  if (held) putBack();
  show();
  tell();
});

document.addEventListener("swapped", (event) => {
  if (held && !(event instanceof CustomEvent && event.detail.isPart)) release();
  show();
  if (isMoving) tell();
});
