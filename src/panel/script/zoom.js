// @ts-check
// Makes drawings larger and smaller. At first all of a drawing is seen, or as much of it as can be read.

/** The least size, in pixels to a drawing's own, at which its words are read. */
const READABLE = 0.72;
const STEP = 1.3;
const LARGEST = 4;

/** The size that a person has chosen; nothing where it follows the window. @type {number | null} */
let chosen = null;

/** @type {(svg: SVGSVGElement) => number} */
const fitting = (svg) => {
  const board = svg.closest(".board");
  const { width, height } = svg.viewBox.baseVal;
  if (!board || width === 0) return 1;
  return Math.min(board.clientWidth / width, Math.max(innerHeight * 0.78, 320) / height);
};

/** @type {(svg: SVGSVGElement) => number} */
const size = (svg) => chosen ?? Math.max(fitting(svg), READABLE);

function draw() {
  for (const svg of document.querySelectorAll(".drawing svg.cavity")) {
    if (!(svg instanceof SVGSVGElement)) continue;
    const own = size(svg);
    svg.style.width = `${svg.viewBox.baseVal.width * own}px`;
    svg.style.height = `${svg.viewBox.baseVal.height * own}px`;
  }
}

/** @type {(how: string, svg: SVGSVGElement) => void} */
function zoom(how, svg) {
  const own = size(svg);
  if (how === "fit") chosen = fitting(svg);
  else chosen = Math.min(Math.max(how === "in" ? own * STEP : own / STEP, Math.min(fitting(svg), READABLE)), LARGEST);
  draw();
}

/** @type {(of: EventTarget | null) => SVGSVGElement | null} */
const drawing = (of) => (of instanceof Element ? of.closest(".drawing")?.querySelector("svg.cavity") ?? null : null);

document.addEventListener("click", ({ target }) => {
  const how = target instanceof Element ? target.closest("[data-zoom]")?.getAttribute("data-zoom") : null;
  const svg = drawing(target);
  if (how && svg) zoom(how, svg);
});

document.addEventListener("keydown", (event) => {
  const how = new Map([["+", "in"], ["-", "out"], ["0", "fit"]]).get(event.key);
  const svg = drawing(event.target);
  if (!how || !svg || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  zoom(how, svg);
  if (document.activeElement instanceof SVGElement) document.activeElement.scrollIntoView({ block: "nearest", inline: "nearest" });
});

addEventListener("resize", draw);
document.addEventListener("swapped", draw);
draw();

export {};
