// Drawings: the coils and how they are joined, the knobs. Text only ever enters as text.

const SVG = "http://www.w3.org/2000/svg";

/**
 * Returns an SVG element with `attributes` and `children`.
 *
 * @template {keyof SVGElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, string | number>} attributes
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[Name]}
 */
function drawn(name, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
  node.append(...children);
  return node;
}

/**
 * A coil of three humps between x and x + 24, with a dot at its + end.
 *
 * @param {number} x
 * @param {number} y
 * @param {"sounding" | "idle"} kind
 * @param {boolean} turned
 */
function coil(x, y, kind, turned = false) {
  const humps = [0, 1, 2].map(() => `a4 4.5 0 0 1 8 0`).join("");
  return drawn("g", { class: `coil ${kind}` },
    drawn("path", { d: `M${x} ${y}${humps}` }),
    drawn("circle", { class: "dot", cx: turned ? x + 25 : x - 1, cy: y - 6, r: 1.7 }));
}

/**
 * The joints of an arrangement, from hot at the left to ground at the right.
 *
 * @type {Record<string, () => SVGElement[]>}
 */
const JOINTS = {
  "series": () => [wire("M4 20H14M38 20H46M70 20H80"), coil(14, 20, "sounding"), coil(46, 20, "sounding")],
  "series-reversed": () => [wire("M4 20H14M38 20H46M70 20H80"), coil(14, 20, "sounding"), coil(46, 20, "sounding", true)],
  "series-bypassed": () => [wire("M4 17H14M38 17H46M70 17H80M42 17V25M37 25H47M37 28.5H47M42 28.5V34"),
    coil(14, 17, "sounding"), coil(46, 17, "sounding")],
  "parallel": () => [wire("M4 21H16M16 12V30M16 12H30M16 30H30M54 12H68M54 30H68M68 12V30M68 21H80"),
    coil(30, 12, "sounding"), coil(30, 30, "sounding")],
  "parallel-reversed": () => [wire("M4 21H16M16 12V30M16 12H30M16 30H30M54 12H68M54 30H68M68 12V30M68 21H80"),
    coil(30, 12, "sounding"), coil(30, 30, "sounding", true)],
  "split-a": () => [wire("M4 12H30M54 12H80"), shunt("M30 30H24V36H60V30H54"), coil(30, 12, "sounding"), coil(30, 30, "idle")],
  "split-b": () => [wire("M4 30H30M54 30H80"), shunt("M30 12H24V18H60V12H54"), coil(30, 12, "idle"), coil(30, 30, "sounding")],
  "split-a-open": () => [wire("M4 12H30M54 12H80"), shunt("M54 30H68V12"), coil(30, 12, "sounding"), coil(30, 30, "idle")],
  "split-b-open": () => [wire("M4 30H30M54 30H80"), shunt("M54 12H68V30"), coil(30, 12, "idle"), coil(30, 30, "sounding")],
  "alone": () => [wire("M4 21H30M54 21H80"), coil(30, 21, "sounding")],
};

/** @param {string} d */
function wire(d) {
  return drawn("path", { class: "wire", d });
}

/** @param {string} d */
function shunt(d) {
  return drawn("path", { class: "wire idle", d });
}

/**
 * Returns the drawing of a named arrangement; a throw without a name and a position of a whole guitar have none.
 *
 * @param {string | null} name
 */
function joints(name) {
  const parts = name === null ? undefined : JOINTS[name]?.();
  return parts ? [drawn("svg", { class: "joints", viewBox: "0 0 84 42", "aria-hidden": "true" }, ...parts)] : [];
}
