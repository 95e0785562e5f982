/* dom.js: making elements and setting the words in them. */

/**
 * An element with attributes, listeners (`onclick: f`) and children; null and false are left out.
 * @param {string} tag
 * @param {Record<string, unknown>} [attributes]
 * @param {...(Node | string | null | false | undefined | (Node | string | null | false | undefined)[])} children
 * @returns {HTMLElement}
 */
export function el(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...kept(children.flat()));
  return element;
}

/**
 * A button; what it is about is only read out.
 * @param {string} words
 * @param {string} about
 * @param {() => void} act
 * @param {Record<string, unknown>} [attributes]
 * @returns {HTMLButtonElement}
 */
export function button(words, about, act, attributes = {}) {
  const hidden = about && el("span", { class: "visually-hidden" }, ` ${about}`);
  return /** @type {HTMLButtonElement} */ (el("button", { type: "button", onclick: () => act(), ...attributes }, el("span", { "data-word": "" }, words), hidden));
}

/**
 * @param {(Node | string | null | false | undefined)[]} children
 * @returns {(Node | string)[]}
 */
function kept(children) {
  return /** @type {(Node | string)[]} */ (children.filter((child) => child !== null && child !== undefined && child !== false && child !== ""));
}

/**
 * An SVG figure of the studio's own engraver, as an element.
 * @param {string} text
 * @returns {SVGElement}
 */
export function figure(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml");
  return /** @type {SVGElement} */ (/** @type {unknown} */ (document.importNode(parsed.documentElement, true)));
}

/**
 * @param {string} tag
 * @param {Record<string, string | number | null | undefined>} attributes
 * @param {...(Node | string)} children
 * @returns {SVGElement}
 */
export function svg(tag, attributes, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== null && value !== undefined) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/**
 * The one element of a selector. Throws when it is missing.
 * @template {Element} [T=HTMLElement]
 * @param {ParentNode} root
 * @param {string} selector
 * @returns {T}
 */
export function one(root, selector) {
  const found = root.querySelector(selector);
  if (!found) throw new Error(`there is no ${selector}`);
  return /** @type {T} */ (/** @type {unknown} */ (found));
}

/**
 * Set words where they differ, so that nothing is read out twice.
 * @param {Element} element
 * @param {string} words
 */
export function say(element, words) {
  if (element.textContent !== words) element.textContent = words;
}

/**
 * Words with a capital letter and a full stop.
 * @param {string} words
 */
export function sentence(words) {
  const text = words.charAt(0).toUpperCase() + words.slice(1);
  return /[.!?]$/.test(text) ? text : `${text}.`;
}

/**
 * Keep the focus where it was by name while a part of the page is drawn anew.
 * @param {HTMLElement} root
 * @param {() => void} draw
 */
export function redraw(root, draw) {
  const active = document.activeElement;
  const key = active instanceof Element && root.contains(active) ? active.getAttribute("data-key") : null;
  draw();
  if (key) {
    const next = root.querySelector(`[data-key="${CSS.escape(key)}"]`);
    if (next instanceof HTMLElement || next instanceof SVGElement) next.focus();
  }
}
