// Elements made of names and texts. Text only ever enters as text.

/**
 * Returns an element of class `className` with `children`, texts among them.
 *
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {string} [className]
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[Name]}
 */
function made(name, className, ...children) {
  const node = document.createElement(name);
  if (className) node.className = className;
  node.append(...children);
  return node;
}

/**
 * Returns the parts of a position's name, each with its `+` or `=` at its end.
 *
 * @param {string} name
 */
function partsOf(name) {
  return name.split(/(?<=\w[+=])(?=\w)/);
}

/**
 * Returns a text in which a position's name can break between its parts.
 *
 * @param {string} text
 */
function broken(text) {
  return partsOf(text).flatMap((part, i) => (i ? [made("wbr"), part] : [part]));
}


/**
 * Returns the one element within `root` that `selector` finds, which is of that `kind`.
 *
 * @template {Element} Kind
 * @param {ParentNode} root
 * @param {string} selector
 * @param {new () => Kind} kind
 * @returns {Kind}
 */
function found(root, selector, kind) {
  const node = root.querySelector(selector);
  if (!(node instanceof kind)) throw new Error(`the page has no ${selector}`);
  return node;
}

/**
 * Returns the element of that `id`, which is of that `kind`.
 *
 * @template {Element} Kind
 * @param {string} id
 * @param {new () => Kind} kind
 * @returns {Kind}
 */
function byId(id, kind) {
  return found(document, `#${id}`, kind);
}
