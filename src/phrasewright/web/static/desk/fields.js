/* fields.js: every control of the desk that stands for one key of the lesson file.
 *
 * A field shows the file's value, checks what is typed while it is typed, saves when it is left, and says what is wrong
 * under itself. What is typed and not saved yet is kept in the browser, so that a closed tab loses nothing.
 */

import { el, say, sentence } from "../common/dom.js";
import { read, write } from "./lesson.js";

const CHECK_MS = 150;

/** Keys that go when another comes, since the file may have one of them only. @type {Record<string, string[]>} */
const INSTEAD_OF = {
  "band.form": ["band.chart"],
  "band.chart": ["band.form", "band.key"],
  "band.meter": ["band.groove"],
  "scale.kind": ["scale.degrees"],
  "scale.degrees": ["scale.kind"],
  "position.style": ["position.string", "position.notes_per_string"],
};

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement | HTMLFieldSetElement} Control */

export class Fields {
  /**
   * @param {HTMLElement} root
   * @param {import("./lesson.js").Lesson} lesson
   */
  constructor(root, lesson) {
    this.root = root;
    this.lesson = lesson;
    /** @type {Map<string, Control>} */
    this.controls = new Map();
    for (const control of root.querySelectorAll("[data-path]")) {
      this.controls.set(/** @type {HTMLElement} */ (control).dataset.path || "", /** @type {Control} */ (control));
    }
    /** @type {Record<string, string>} */
    this.drafts = read(`${lesson.key}:drafts`, {});
    this.timer = 0;
    root.addEventListener("input", (event) => this.typed(event));
    root.addEventListener("change", (event) => this.left(event));
    root.addEventListener("focusout", (event) => this.gone(event));
    root.addEventListener("keydown", (event) => this.pressed(/** @type {KeyboardEvent} */ (event)));
    lesson.addEventListener("view", () => this.show());
  }

  /** Put drafts of an earlier visit back into their fields. @returns {number} how many */
  restore() {
    let restored = 0;
    for (const [path, text] of Object.entries(this.drafts)) {
      const control = this.controls.get(path);
      if (!isTyped(control) || control.value === text) delete this.drafts[path];
      else {
        control.value = text;
        control.closest("details")?.setAttribute("open", "");
        this.check(control, path);
        restored += 1;
      }
    }
    this.keep();
    return restored;
  }

  show() {
    const view = this.lesson.view;
    if (!view) return;
    for (const [path, control] of this.controls) {
      if (path in this.drafts && this.lesson.busy < 2) continue;
      const [section, key] = path.split(".");
      setValue(control, kindOf(control), view.values[section][key]);
    }
    this.tellProblems(view.problems);
  }

  /**
   * Problems at their fields; those of no field at their section; those of neither above all, with the way to their line.
   * @param {Desk.Problem[]} problems
   */
  tellProblems(problems) {
    /** @type {Map<Element, HTMLElement[]>} */
    const told = new Map();
    for (const problem of problems) {
      const place = this.placeOf(problem);
      told.set(place, [...(told.get(place) || []), this.wordsOf(problem, place)]);
    }
    for (const place of this.root.querySelectorAll("[data-wrong]")) {
      const path = /** @type {HTMLElement} */ (place).dataset.wrong || "";
      if (path in this.drafts) continue;
      this.fill(path, place, told.get(place) || []);
    }
  }

  /**
   * @param {string} path
   * @param {Element} place
   * @param {(Node | string)[]} words
   */
  fill(path, place, words) {
    /** @type {HTMLElement} */ (place).hidden = words.length === 0;
    place.replaceChildren(...words);
    const control = this.controls.get(path);
    if (!control) return;
    if (words.length) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
    if (words.length) control.closest("details")?.setAttribute("open", "");
  }

  /** @param {Desk.Problem} problem */
  placeOf(problem) {
    const whole = /** @type {Element} */ (this.root.querySelector('[data-wrong=""]'));
    for (let length = problem.path.length; length > 0; length -= 1) {
      const path = problem.path.slice(0, length).join(".");
      const place = this.root.querySelector(`[data-wrong="${CSS.escape(path)}"]`);
      if (place) return place;
    }
    return whole;
  }

  /**
   * A problem in words; where it points into a field's text or to a line of the file, with a way to go there.
   * @param {Desk.Problem} problem
   * @param {Element} place where it is told
   */
  wordsOf(problem, place) {
    const { at, line } = problem;
    const control = this.controls.get(problem.path.join("."));
    if (at !== null && isTyped(control)) return wrongLine(problem, "", () => goTo(control, at));
    if (place.getAttribute("data-wrong") || line === null) return wrongLine(problem);
    return wrongLine(problem, `Line ${line} of the file: `, () => this.lesson.dispatchEvent(new CustomEvent("line", { detail: line })));
  }

  // ---- typing

  /** @param {Event} event */
  typed(event) {
    const control = controlOf(event.target);
    if (!control) return;
    const path = control.dataset.path || "";
    if (kindOf(control) === "share") {
      tellShare(/** @type {HTMLInputElement} */ (control));
      return;
    }
    if (!isTyped(control)) return;
    this.drafts[path] = control.value;
    this.keep();
    window.clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.check(control, path), CHECK_MS);
  }

  /**
   * @param {HTMLInputElement | HTMLTextAreaElement} control
   * @param {string} path
   */
  async check(control, path) {
    const text = control.value;
    const place = this.root.querySelector(`[data-wrong="${CSS.escape(path)}"]`);
    if (!place) return;
    let value;
    try {
      value = valueOf(control, kindOf(control), isUsual(control));
    } catch (error) {
      this.fill(path, place, [String(/** @type {Error} */ (error).message)]);
      return;
    }
    const checked = await this.lesson.check(this.changesOf(path, value));
    if (!checked || control.value !== text) return;
    const mine = checked.problems.filter((problem) => problem.path.join(".").startsWith(path));
    this.fill(path, place, mine.map((problem) => this.wordsOf(problem, place)));
    control.dispatchEvent(new CustomEvent("checked", { bubbles: true, detail: checked }));
  }

  /** @param {KeyboardEvent} event */
  pressed(event) {
    const control = controlOf(event.target);
    if (!control || !isTyped(control)) return;
    const path = control.dataset.path || "";
    if (event.key === "Enter" && control instanceof HTMLInputElement) this.save(control);
    if (event.key === "Escape" && path in this.drafts) {
      event.stopPropagation();
      delete this.drafts[path];
      this.keep();
      this.show();
    }
  }

  /** @param {Event} event */
  left(event) {
    const control = controlOf(event.target);
    if (control) this.save(control);
  }

  /** A field whose text came back from an earlier visit has not changed for the browser: it is saved all the same. @param {Event} event */
  gone(event) {
    const control = controlOf(event.target);
    if (control && (control.dataset.path || "") in this.drafts) this.save(control);
  }

  /** @param {Control} control */
  save(control) {
    const path = control.dataset.path || "";
    const [section, key] = path.split(".");
    let value;
    try {
      value = valueOf(control, kindOf(control), isUsual(control));
    } catch (error) {
      const place = this.root.querySelector(`[data-wrong="${CSS.escape(path)}"]`);
      if (place) this.fill(path, place, [String(/** @type {Error} */ (error).message)]);
      return;
    }
    delete this.drafts[path];
    this.keep();
    const before = this.lesson.view?.values[section][key];
    if (JSON.stringify(before ?? null) === JSON.stringify(value)) {
      this.show();
      return;
    }
    this.lesson.change(this.changesOf(path, value), `${labelOf(control)} ${shortly(value)}`.trim());
  }

  /**
   * @param {string} path
   * @param {unknown} value
   * @returns {import("./lesson.js").Change[]}
   */
  changesOf(path, value) {
    const others = value === null ? [] : (INSTEAD_OF[path] || []).filter((other) => this.lesson.view?.written.includes(other));
    return [...others.map((other) => ({ path: other.split("."), value: null })), { path: path.split("."), value }];
  }

  keep() {
    write(`${this.lesson.key}:drafts`, this.drafts);
  }
}

/**
 * @param {EventTarget | null} target
 * @returns {Control | null}
 */
function controlOf(target) {
  return target instanceof Element ? target.closest("[data-path]") : null;
}

/**
 * @param {Control | undefined} control
 * @returns {control is HTMLInputElement | HTMLTextAreaElement}
 */
function isTyped(control) {
  return control instanceof HTMLTextAreaElement || (control instanceof HTMLInputElement && control.type === "text");
}

/** @param {Control} control */
function kindOf(control) {
  return control.closest("[data-kind]")?.getAttribute("data-kind") || "text";
}

/** @param {Control} control */
function isUsual(control) {
  return Boolean(control.closest("[data-usual]"));
}

/** @param {Control} control */
function labelOf(control) {
  const label = control instanceof HTMLFieldSetElement ? control.querySelector("legend") : control.closest(".field")?.querySelector("label");
  const first = label?.firstChild?.nodeType === Node.TEXT_NODE ? label.firstChild.textContent : label?.textContent;
  return (first || "").trim().toLowerCase();
}

/** @param {unknown} value */
function shortly(value) {
  if (value === null) return "as usual";
  const words = Array.isArray(value) ? value.join(" ") : String(value);
  return words.includes("\n") || words.length > 40 ? "" : words;
}

/**
 * @param {Control} control
 * @param {string} kind
 * @param {unknown} value
 */
function setValue(control, kind, value) {
  if (control instanceof HTMLFieldSetElement) {
    const chosen = Array.isArray(value) ? value.map(String) : [];
    for (const box of control.querySelectorAll("input")) box.checked = chosen.includes(box.value);
    return;
  }
  if (control instanceof HTMLInputElement && control.type === "checkbox") {
    control.checked = value === true;
    return;
  }
  const text = value === null || value === undefined ? "" : Array.isArray(value) ? value.join(kind === "texts" ? ", " : " ") : String(value).replace(/\n$/, "");
  if (control instanceof HTMLSelectElement && text && ![...control.options].some((option) => option.value === text)) {
    control.append(el("option", { value: text }, text));
  }
  if (control.value !== text) control.value = text;
  if (kind === "share") tellShare(/** @type {HTMLInputElement} */ (control));
}

/** @param {HTMLInputElement} control */
function tellShare(control) {
  const percent = Math.round(Number(control.value) * 100);
  const output = control.closest(".field")?.querySelector("[data-output]");
  if (output) say(output, `${percent} %`);
  control.setAttribute("aria-valuetext", `${percent} percent`);
}

/**
 * What a control says, for the file; null = as usual. Throws in words for what is no number.
 * @param {Control} control
 * @param {string} kind
 * @param {boolean} usual
 * @returns {unknown}
 */
export function valueOf(control, kind, usual) {
  if (control instanceof HTMLFieldSetElement) {
    const chosen = [...control.querySelectorAll("input")].filter((box) => box.checked).map((box) => box.value);
    return chosen.length || !usual ? chosen : null;
  }
  if (control instanceof HTMLInputElement && control.type === "checkbox") return control.checked;
  const text = control.value.trim();
  if (!text) return usual || kind !== "text" ? null : "";
  switch (kind) {
    case "yes-no":
      return text === "true";
    case "whole":
      if (!/^-?\d{1,9}$/.test(text)) throw new Error(`“${text}” is not a whole number. Write it in digits.`);
      return Number(text);
    case "number":
    case "share":
      return number(text);
    case "numbers":
      return text.split(/[\s,;]+/).filter(Boolean).map(number);
    case "texts":
      return text.split(",").map((word) => word.trim()).filter(Boolean);
    default:
      return kind === "lines" ? control.value : text;
  }
}

/** @param {string} text */
function number(text) {
  if (!/^-?\d{1,9}([.,]\d{1,6})?$/.test(text)) throw new Error(`“${text}” is not a number. Write it in digits.`);
  return Number(text.replace(",", "."));
}

/**
 * @param {Desk.Problem} problem
 * @param {string} [where]
 * @param {() => void} [show] goes there
 */
function wrongLine(problem, where = "", show) {
  const go = show && el("button", { type: "button", class: "plain", onclick: show }, "Show me");
  return el("span", { class: "wrong-line" }, `${where}${sentence(problem.what)} ${problem.hint} `, go);
}

/**
 * @param {HTMLInputElement | HTMLTextAreaElement} control
 * @param {number} at
 */
function goTo(control, at) {
  const end = control.value.slice(at).search(/[\s|]/);
  control.focus();
  control.setSelectionRange(at, end < 0 ? control.value.length : at + Math.max(1, end));
}
