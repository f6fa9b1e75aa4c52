// @ts-check
// How a thing of a drawing is picked up and put down, whatever it is: by two presses, by dragging or by the keyboard alike.

/** So far a pointer moves, in pixels, before it drags. */
const DRAGS = 5;

/** Where the arrow keys lead. */
export const ARROWS = new Map([["ArrowLeft", [-1, 0]], ["ArrowRight", [1, 0]], ["ArrowUp", [0, -1]], ["ArrowDown", [0, 1]]]);

/**
 * What is done with what can be picked up. `under` returns what of it an element belongs to. A drag begins where `pick` takes what was
 * pressed into the hand, or lets what is in it be dragged; `lead` is told where the pointer is, and `drop` where it is let go. `back`
 * puts back what is in hand, `press` and `key` are told what else is pressed.
 *
 * @typedef {{
 *   isHeld: () => boolean, under: (of: Element) => Element | null, pick: (of: Element, x: number, y: number) => boolean,
 *   lead: (event: PointerEvent, isDragging: boolean) => void, drop: (event: PointerEvent) => void, back: () => void,
 *   press: (event: MouseEvent) => void, key: (event: KeyboardEvent) => void,
 * }} Grip
 */

/**
 * Listens to pointer and keyboard; returns whether the pointer is down on what can be picked up.
 *
 * @param {Grip} grip
 */
export function gripped({ isHeld, under, pick, lead, drop, back, press, key }) {
  /** @type {{ of: Element, x: number, y: number, isDragging: boolean } | null} */
  let pressed = null;
  /** Whether the click that ends a drag is still to come. */
  let isDragged = false;

  document.addEventListener("pointerdown", (event) => {
    const of = event.target instanceof Element ? under(event.target) : null;
    isDragged = false;
    if (!of || event.button !== 0 || !event.isPrimary) return;
    pressed = { of, x: event.clientX, y: event.clientY, isDragging: false };
    // So that moves are told to what lies under a finger, and no text is marked.
    if (of.hasPointerCapture(event.pointerId)) of.releasePointerCapture(event.pointerId);
    if (of instanceof SVGElement) event.preventDefault();
  });
  document.addEventListener("pointermove", (event) => {
    if (pressed && !pressed.isDragging && Math.hypot(event.clientX - pressed.x, event.clientY - pressed.y) > DRAGS) {
      pressed.isDragging = pick(pressed.of, pressed.x, pressed.y);
    }
    if (isHeld()) lead(event, pressed?.isDragging ?? false);
  });
  document.addEventListener("pointerup", (event) => {
    const isDrop = pressed?.isDragging;
    pressed = null;
    if (!isDrop) return;
    isDragged = true;
    drop(event);
  });
  document.addEventListener("pointercancel", () => {
    if (pressed?.isDragging) back();
    pressed = null;
  });
  document.addEventListener("click", (event) => {
    if (!isDragged) press(event);
    isDragged = false;
  });
  document.addEventListener("keydown", (event) => {
    const { ctrlKey, metaKey, altKey, key: called } = event;
    const isUndo = (ctrlKey || metaKey) && !altKey && called.toLowerCase() === "z";
    if (isHeld() && (called === "Escape" || isUndo)) {
      event.preventDefault();
      back();
    } else if (!ctrlKey && !metaKey && !altKey) {
      key(event);
    }
  });
  return () => pressed !== null;
}

/** Tells that something is in hand; news waits until it is empty. */
export function taken() {
  document.body.dataset.held = "";
}

/** Tells that the hand is empty. */
export function freed() {
  delete document.body.dataset.held;
  document.dispatchEvent(new CustomEvent("released"));
}

/** Sends what is put down. @type {(action: string, form: Record<string, string>) => void} */
export function sent(action, form) {
  document.dispatchEvent(new CustomEvent("put", { detail: { action, form } }));
}

/** Has the tabulator key come back to that element of a drawing, among those that `kind` selects, which had the focus last. @type {(kind: string) => void} */
export function comeBack(kind) {
  let last = "";
  const stay = (/** @type {EventTarget | null} */ of) => {
    if (!(of instanceof SVGElement) || !of.matches(kind)) return;
    for (const other of of.ownerSVGElement?.querySelectorAll(`${kind}[tabindex="0"]`) ?? []) other.setAttribute("tabindex", "-1");
    of.setAttribute("tabindex", "0");
    last = of.id;
  };
  document.addEventListener("focusin", ({ target }) => stay(target));
  document.addEventListener("swapped", () => stay(document.getElementById(last)));
}
