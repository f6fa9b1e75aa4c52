// Looks through a survey: sifts, sorts and lists its circuits. Text only ever enters as text.

const STEP = 100;
const HUMS = -20;
const { kept, circuits } = JSON.parse(document.getElementById("survey").textContent);
const at = (id) => document.getElementById(id);

/** Returns a number with a true minus sign, or a dash for none. */
const number = (value, digits) => value === null ? "–" : value.toFixed(digits).replace(/^-(?=0(\.0*)?$)/, "").replace("-", "−");

/** The columns: heading, what is sorted by, what is shown; numbers stand at the right. */
const COLUMNS = [
  { title: "position", key: (c) => c.name, show: null },
  { title: "resonance kHz", key: (c) => c.resonance, show: (c) => number(c.resonance === null ? null : c.resonance / 1000, 2), right: true },
  { title: "Q", key: (c) => c.q, show: (c) => number(c.q, 2), right: true },
  { title: "level dB", key: (c) => c.level, show: (c) => number(c.level, 1), right: true },
  { title: "hum dB", key: (c) => c.hum ?? -999, show: (c) => c.hum === null ? "cancels" : number(c.hum, 1), right: true },
  { title: "strings", key: (c) => c.phase ? "in phase" : "against", show: (c) => c.phase ? "in phase" : "against" },
  { title: "sounds like", key: (c) => kept.indexOf(c.nearest), show: (c) => c.nearest === null ? "silent" : c.nearest === c.name ? "kept" : `no. ${kept.indexOf(c.nearest) + 1}`, right: true },
  { title: "off dB", key: (c) => c.off, show: (c) => number(c.off, 1), right: true },
];

const sorting = { column: null, up: true };
let limit = STEP;

function made(name, className, ...children) {
  const node = document.createElement(name);
  if (className) node.className = className;
  node.append(...children);
  return node;
}

/** Returns what is shown of a circuit's name: with the combinations that are the same circuit, listed when asked for. */
function named(circuit) {
  if (circuit.combinations.length === 1) return circuit.name;
  const more = circuit.combinations.length;
  const details = made("details", "", made("summary", "", circuit.name, made("span", "small", ` · ${more} combinations`)));
  details.addEventListener("toggle", () => {
    if (details.querySelector("ul")) return;
    details.append(made("ul", "", ...circuit.combinations.map((name) => made("li", "", name))));
  });
  return details;
}

function row(circuit) {
  const head = made("th", "", named(circuit));
  head.scope = "row";
  const cells = COLUMNS.slice(1).map((column) => made("td", column.right ? "n" : "", column.show(circuit)));
  return made("tr", circuit.nearest === circuit.name ? "kept" : "", head, ...cells);
}

function sifted() {
  const words = at("words").value.toLowerCase().split(/\s+/).filter(Boolean);
  const [hum, phase, like, groups] = [at("hum").value, at("phase").value, at("like").value, at("groups").checked];
  const hums = (c) => c.hum !== null && c.hum > HUMS;
  return circuits.filter((c) =>
    words.every((word) => c.name.toLowerCase().includes(word))
    && (!hum || hums(c) === (hum === "hums"))
    && (!phase || c.phase === (phase === "in"))
    && (!like || c.nearest === like)
    && (!groups || c.group === c.name));
}

/** Returns the circuits in the order asked for; what has no figure comes last either way. */
function sorted(list) {
  if (sorting.column === null) return list;
  const key = COLUMNS[sorting.column].key;
  const sign = sorting.up ? 1 : -1;
  const order = (a, b) => typeof a === "string" ? a.localeCompare(b, "en", { numeric: true }) : a - b;
  return [...list].sort((c, d) => {
    const [a, b] = [key(c), key(d)];
    if (a === null || b === null) return (a === null) - (b === null);
    return sign * order(a, b);
  });
}

function show() {
  const list = sorted(sifted());
  at("rows").replaceChildren(...list.slice(0, limit).map(row));
  const combinations = list.reduce((sum, c) => sum + c.combinations.length, 0);
  at("shown").textContent = `${list.length} of ${circuits.length} circuits, ${combinations} combinations`;
  at("more").hidden = list.length <= limit;
  [...at("heads").children].forEach((head, i) => {
    if (sorting.column === i) head.setAttribute("aria-sort", sorting.up ? "ascending" : "descending");
    else head.removeAttribute("aria-sort");
  });
}

function sortBy(column) {
  sorting.up = sorting.column === column ? !sorting.up : true;
  sorting.column = column;
  limit = STEP;
  show();
}

COLUMNS.forEach((column, i) => {
  const button = made("button", "", column.title);
  button.type = "button";
  button.addEventListener("click", () => sortBy(i));
  const head = made("th", column.right ? "n" : "", button);
  head.scope = "col";
  at("heads").append(head);
});
kept.forEach((name, i) => {
  const option = made("option", "", `${i + 1} ${name}`);
  option.value = name;
  at("like").append(option);
});
at("sieve").addEventListener("submit", (event) => event.preventDefault());
at("sieve").addEventListener("input", () => { limit = STEP; show(); });
at("more").addEventListener("click", () => { limit += STEP; show(); });
show();
