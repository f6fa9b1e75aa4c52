// Elements made of names and texts. Text only ever enters as text.

/** Returns an element of class `className` with `children`, texts among them. */
function made(name, className, ...children) {
  const node = document.createElement(name);
  if (className) node.className = className;
  node.append(...children);
  return node;
}

/** Returns the parts of a position's name, each with its `+` or `=` at its end. */
function partsOf(name) {
  return name.split(/(?<=\w[+=])(?=\w)/);
}

/** Returns a text in which a position's name can break between its parts. */
function broken(text) {
  return partsOf(text).flatMap((part, i) => (i ? [made("wbr"), part] : [part]));
}

