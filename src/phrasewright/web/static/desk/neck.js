/* neck.js: the live neck. Click a note to hear it, take notes for a motif, leave notes out; drag the hand along.
 *
 * Drawn as players see printed diagrams: lowest string at the bottom, nut left (right for a left-handed player), frets at
 * their true distances. Inside the neck the arrow keys go from note to note; one note is in the order of the Tab key.
 */

import { el, one, redraw, say, svg } from "../common/dom.js";

const WIDTH = 1040;
const NUT_X = 64; // room for open strings and their names
const ROW = 38;
const TOP = 30;
const DISC = 14;
const LEAST_FRETS = 15;
const Deed = Object.freeze({ HEAR: "hear", DRAW: "draw", USE: "use" });

export class LiveNeck extends HTMLElement {
  /** @type {string} */
  deed = Deed.HEAR;
  labels = "degree";
  chord = "";
  /** @type {string[]} */
  taken = [];
  /** @type {Desk.Neck | null} */
  preview = null;
  at = "";
  dragging = false;

  /**
   * @param {import("./lesson.js").Lesson} lesson
   * @param {import("./hear.js").Hear} hear
   */
  join(lesson, hear) {
    this.lesson = lesson;
    this.hear = hear;
    this.append(this.choices(), el("div", { class: "neck-scroll", role: "region", "aria-label": "The neck", tabindex: "0", "data-necks": "" }), this.drawing());
    lesson.addEventListener("view", () => this.show());
    this.addEventListener("keydown", (event) => this.pressed(event));
  }

  get neck() {
    return this.preview || this.lesson?.view?.plan?.neck || null;
  }

  choices() {
    const deeds = [[Deed.HEAR, "hear"], [Deed.DRAW, "take for a motif"], [Deed.USE, "use or leave out"]];
    const labels = [["degree", "degrees"], ["finger", "fingers"], ["name", "names"]];
    return el(
      "div",
      { class: "neck-choices" },
      radios("A click on a note", "neck-deed", deeds, this.deed, (value) => {
        this.deed = value;
        this.show();
      }),
      radios("In the discs", "neck-labels", labels, "degree", (value) => {
        this.labels = value;
        this.show();
      }),
      el("label", { class: "tones" }, "Tones of ", el("select", { id: "neck-chord", onchange: (/** @type {Event} */ event) => this.chooseChord(event) })),
    );
  }

  /** The row in which a motif grows that is drawn on the neck. */
  drawing() {
    return el(
      "form",
      { class: "taking", hidden: true, onsubmit: (/** @type {Event} */ event) => this.put(event) },
      el("p", { class: "taking-notes", role: "status" }),
      el("label", {}, "Name ", el("input", { type: "text", id: "drawn-name", maxlength: "40", autocomplete: "off" })),
      el("button", { class: "is-main" }, "Put on the shelf"),
      el("button", { type: "button", onclick: () => this.take([]) }, "Start again"),
    );
  }

  /** @param {Event} event */
  chooseChord(event) {
    this.chord = /** @type {HTMLSelectElement} */ (event.target).value;
    this.show();
  }

  show() {
    const neck = this.neck;
    if (!neck) return;
    this.fillChords();
    const scroll = one(this, ".neck-scroll");
    const first = !scroll.firstChild;
    redraw(this, () => scroll.replaceChildren(this.draw(neck)));
    if (first) this.scrollToHand(neck, scroll);
    const form = one(this, ".taking");
    form.hidden = this.deed !== Deed.DRAW;
    const names = this.taken.map((place) => neck.position.find((note) => note.place === place)?.degree || "?");
    say(one(form, ".taking-notes"), names.length ? `Taken: ${names.join(" ")}` : "Take two to five notes, in the order in which they are played.");
  }

  fillChords() {
    const chords = this.lesson?.view?.plan?.chart.chords || [];
    const select = /** @type {HTMLSelectElement} */ (one(this, "#neck-chord"));
    if (!chords.some((chord) => chord.name === this.chord)) this.chord = "";
    select.replaceChildren(el("option", { value: "" }, "no chord"), ...chords.map((chord) => el("option", { value: chord.name }, chord.printed)));
    select.value = this.chord;
  }

  // ---- drawing

  /** @param {Desk.Neck} neck */
  geometry(neck) {
    const used = Math.max(...[...neck.position, ...neck.dropped].map((note) => note.fret));
    const last = Math.min(neck.highest_fret, Math.max(LEAST_FRETS, used + 3));
    const scale = (WIDTH - NUT_X - 20) / neck.frets[last];
    const side = (/** @type {number} */ x) => (neck.left_handed ? WIDTH - x : x);
    const wire = (/** @type {number} */ fret) => side(NUT_X + neck.frets[fret] * scale);
    const x = (/** @type {number} */ fret) => side(fret === neck.capo ? NUT_X + neck.frets[fret] * scale - 24 : NUT_X + ((neck.frets[fret - 1] + neck.frets[fret]) / 2) * scale);
    const y = (/** @type {number} */ string) => TOP + (string - 0.5) * ROW;
    return { last, wire, x, y, bottom: TOP + neck.strings.length * ROW };
  }

  /** @param {Desk.Neck} neck */
  draw(neck) {
    const where = this.geometry(neck);
    const drawing = svg("svg", { viewBox: `0 0 ${WIDTH} ${where.bottom + 72}`, width: WIDTH, height: where.bottom + 72, class: "neck-drawing", role: "group", "aria-label": neck.words });
    for (let fret = 0; fret <= where.last; fret += 1) {
      const x = where.wire(fret);
      drawing.append(svg("line", { x1: x, x2: x, y1: TOP + ROW / 2, y2: where.bottom - ROW / 2, class: fret === neck.capo ? "nut" : "wire" }));
      if (fret && (fret % 12 === 0 || [3, 5, 7, 9, 15, 17, 19, 21].includes(fret))) {
        drawing.append(svg("text", { x: where.x(fret), y: where.bottom + 15, class: "fret-number" }, String(fret)));
      }
    }
    for (const string of neck.strings) {
      const y = where.y(string.number);
      drawing.append(svg("line", { x1: where.wire(0), x2: where.wire(where.last), y1: y, y2: y, class: "string", "stroke-width": 0.8 + (76 - string.midi) / 26 }));
    }
    const tones = this.lesson?.view?.plan?.chart.chords.find((chord) => chord.name === this.chord)?.tones || [];
    const shown = neck.others.filter((note) => note.fret <= where.last);
    for (const note of shown) drawing.append(this.note(note, "other", where, false));
    for (const note of neck.dropped) drawing.append(this.note(note, "dropped", where, false));
    for (const note of neck.position) drawing.append(this.note(note, "in", where, tones.includes(note.place)));
    drawing.append(this.hand(neck, where));
    this.tabStop(drawing);
    return drawing;
  }

  /**
   * @param {Desk.NeckNote} note
   * @param {"in" | "dropped" | "other"} kind
   * @param {ReturnType<LiveNeck["geometry"]>} where
   * @param {boolean} isTone
   */
  note(note, kind, where, isTone) {
    const [x, y] = [where.x(note.fret), where.y(note.string)];
    const order = this.taken.indexOf(note.place);
    const classes = ["place", `is-${kind}`, isTone ? "is-tone" : "", note.root ? "is-root" : "", note.added ? "is-added" : "", order >= 0 ? "is-taken" : ""];
    const group = svg("g", {
      class: classes.filter(Boolean).join(" "), role: "button", tabindex: -1, "data-place": note.place, "data-key": `place ${note.place}`, "data-midi": note.midi,
      "aria-label": this.wordsOf(note, kind, order, isTone),
    });
    const size = kind === "other" ? 5 : DISC;
    group.append(svg("circle", { cx: x, cy: y, r: DISC + 4, class: "hit" }), svg("circle", { cx: x, cy: y, r: DISC + 5, class: "halo" }));
    if (note.root && kind !== "other") group.append(svg("circle", { cx: x, cy: y, r: DISC + 3, class: "ring" }));
    group.append(svg("circle", { cx: x, cy: y, r: size, class: "disc" }));
    if (kind !== "other") group.append(svg("text", { x, y: y + 5, class: "degree" }, this.label(note)));
    if (kind === "dropped") group.append(svg("line", { x1: x - DISC, y1: y + DISC, x2: x + DISC, y2: y - DISC, class: "gone" }));
    if (order >= 0) group.append(svg("text", { x: x + DISC + 2, y: y - DISC + 2, class: "order-number" }, String(order + 1)));
    else if (kind === "in" && this.labels !== "finger" && note.finger) group.append(svg("text", { x: x + DISC + 3, y: y - 8, class: "finger" }, String(note.finger)));
    group.addEventListener("click", () => this.act(note, kind));
    return group;
  }

  /** @param {Desk.NeckNote} note */
  label(note) {
    if (this.labels === "finger") return note.finger ? String(note.finger) : "0";
    return this.labels === "name" ? note.name : note.degree;
  }

  /**
   * @param {Desk.NeckNote} note
   * @param {string} kind
   * @param {number} order
   * @param {boolean} isTone
   */
  wordsOf(note, kind, order, isTone) {
    const where = `String ${note.string}, ${note.fret ? `fret ${note.fret}` : "open"}: ${note.name}, degree ${note.degree}`;
    const finger = note.finger ? `, finger ${note.finger}` : "";
    const state = kind === "other" ? ", outside the position" : kind === "dropped" ? ", left out" : "";
    return `${where}${finger}${isTone ? ", chord tone" : ""}${state}${order >= 0 ? `, note ${order + 1} of the motif` : ""}`;
  }

  /**
   * The bracket under the hand: drag it, or move it with the arrow keys.
   * @param {Desk.Neck} neck
   * @param {ReturnType<LiveNeck["geometry"]>} where
   */
  hand(neck, where) {
    const frets = neck.position.filter((note) => !note.added && note.fret > neck.capo).map((note) => note.fret);
    const [low, high] = frets.length ? [Math.min(...frets), Math.max(...frets)] : [neck.capo + 1, neck.capo + 1];
    const [a, b] = [where.wire(low - 1), where.wire(high)].sort((one, other) => one - other);
    const y = where.bottom + 32;
    const name = neck.name.includes(", ") ? neck.name.slice(neck.name.indexOf(", ") + 2) : neck.name;
    const group = svg("g", {
      class: "hand", role: "slider", tabindex: 0, "data-key": "hand", "aria-label": "Where the hand lies", "aria-valuemin": neck.capo,
      "aria-valuemax": neck.highest_fret, "aria-valuenow": neck.fret, "aria-valuetext": name,
    });
    group.append(
      svg("rect", { x: a, y: y - 12, width: b - a, height: 44, class: "hit" }),
      svg("path", { d: `M${a + 2} ${y - 8} V${y + 6} H${b - 2} V${y - 8}`, class: "bracket" }),
      svg("text", { x: (a + b) / 2, y: y + 26, class: "hand-name" }, name),
    );
    group.addEventListener("pointerdown", (event) => this.drag(/** @type {PointerEvent} */ (event), group, neck, where, low));
    return group;
  }

  /** @param {Element} drawing */
  tabStop(drawing) {
    const place = drawing.querySelector(`[data-place="${this.at}"]`) || drawing.querySelector(".place.is-in");
    place?.setAttribute("tabindex", "0");
  }

  /**
   * @param {Desk.Neck} neck
   * @param {HTMLElement} scroll
   */
  scrollToHand(neck, scroll) {
    const where = this.geometry(neck);
    scroll.scrollLeft = Math.max(0, where.x(neck.fret) - scroll.clientWidth / 2);
  }

  // ---- what the teacher does

  /**
   * @param {Desk.NeckNote} note
   * @param {"in" | "dropped" | "other"} kind
   */
  act(note, kind) {
    this.at = note.place;
    this.hear?.note(note.midi, note.place);
    if (this.deed === Deed.DRAW && kind === "in") this.take([...this.taken, note.place].slice(0, 5));
    if (this.deed === Deed.USE && kind !== "other") this.use(note, kind === "dropped");
    if (this.deed === Deed.USE && kind === "other") this.extend(note);
  }

  /** @param {string[]} places */
  take(places) {
    this.taken = places;
    this.show();
  }

  /** @param {Event} event */
  async put(event) {
    event.preventDefault();
    const name = /** @type {HTMLInputElement} */ (one(this, "#drawn-name"));
    if (!this.lesson) return;
    if (await this.lesson.deed("motifs/draw", { places: this.taken, name: name.value }, "draw a motif")) {
      name.value = "";
      this.take([]);
    }
  }

  /**
   * @param {Desk.NeckNote} note
   * @param {boolean} again
   */
  use(note, again) {
    const left = /** @type {string[]} */ (this.lesson?.view?.values.position.left_out || []);
    const kept = left.filter((spot) => spot !== note.spot && spot !== note.spot.split(" ")[0]);
    const value = again ? kept : [...left, note.spot];
    this.lesson?.change([{ path: ["position", "left_out"], value: value.length ? value : null }], `${again ? "use" : "leave out"} ${note.spot}`);
  }

  /** A note next to the ends of the position is added; from farther away the hand would have to move. @param {Desk.NeckNote} note */
  extend(note) {
    const neck = this.neck;
    if (!neck || !this.lesson?.view) return;
    const pitches = neck.position.map((one) => one.midi);
    const isAbove = note.midi > Math.max(...pitches);
    if (!isAbove && note.midi > Math.min(...pitches)) {
      this.lesson.tell("This note is in the position already, on another string. Move the hand to play it here.");
      return;
    }
    const key = isAbove ? "added_above" : "added_below";
    const now = Number(this.lesson.view.values.position[key]);
    this.lesson.change([{ path: ["position", key], value: Math.min(5, now + 1) }], `add a note ${isAbove ? "above" : "below"}`);
  }

  /**
   * @param {PointerEvent} event
   * @param {SVGElement} hand
   * @param {Desk.Neck} neck
   * @param {ReturnType<LiveNeck["geometry"]>} where
   * @param {number} low
   */
  drag(event, hand, neck, where, low) {
    event.preventDefault();
    const scale = one(this, ".neck-drawing").getBoundingClientRect().width / WIDTH;
    const start = event.clientX;
    let fret = low;
    let asking = false;
    const target = (/** @type {PointerEvent} */ move) => {
      const x = where.x(low) + (move.clientX - start) / scale;
      let best = Math.max(1, neck.capo);
      for (let one = best; one <= neck.highest_fret && one < neck.frets.length; one += 1) if (Math.abs(where.x(one) - x) < Math.abs(where.x(best) - x)) best = one;
      return best;
    };
    const move = async (/** @type {PointerEvent} */ moved) => {
      const next = target(moved);
      if (next === fret || asking || !this.lesson) return;
      fret = next;
      asking = true;
      const checked = await this.lesson.check(this.moveTo(fret));
      asking = false;
      if (checked?.plan && this.dragging) {
        this.preview = checked.plan.neck;
        this.show();
      }
    };
    const end = (/** @type {PointerEvent} */ up) => {
      this.dragging = false;
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", end);
      window.removeEventListener("pointercancel", end);
      this.preview = null;
      const last = target(up);
      if (last !== low && up.type === "pointerup") this.lesson?.change(this.moveTo(last), `move the hand to fret ${last}`);
      else this.show();
    };
    this.dragging = true;
    hand.focus();
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", end);
    window.addEventListener("pointercancel", end);
  }

  /** @param {number} fret @returns {import("./lesson.js").Change[]} */
  moveTo(fret) {
    const open = this.lesson?.view?.values.position.style === "open";
    return [...(open ? [{ path: ["position", "style"], value: "box" }] : []), { path: ["position", "fret"], value: fret }];
  }

  // ---- the keyboard

  /** @param {KeyboardEvent} event */
  pressed(event) {
    const target = event.target;
    if (!(target instanceof SVGElement) || event.ctrlKey || event.metaKey || event.altKey) return;
    const neck = this.neck;
    const right = neck?.left_handed ? -1 : 1;
    const steps = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [0, -right], ArrowRight: [0, right], ArrowUp: [-1, 0], ArrowDown: [1, 0] });
    if (target.classList.contains("hand")) {
      const way = steps[event.key];
      if (!way || !neck) return;
      event.preventDefault();
      const fret = Math.max(1, neck.fret + (way[1] || -way[0]));
      this.lesson?.change(this.moveTo(fret), `move the hand to fret ${fret}`);
    } else if (target.classList.contains("place")) {
      if (event.key === "Enter" || event.key === " ") {
        event.preventDefault();
        target.dispatchEvent(new MouseEvent("click", { bubbles: true }));
      } else if (steps[event.key]) {
        event.preventDefault();
        this.go(target, steps[event.key]);
      }
    }
  }

  /**
   * To the nearest note in a direction.
   * @param {SVGElement} from
   * @param {[number, number]} way strings and frets
   */
  go(from, [strings, frets]) {
    const [string, fret] = (from.dataset.place || "0-0").split("-").map(Number);
    /** @type {SVGElement | null} */
    let best = null;
    let nearest = Infinity;
    for (const place of /** @type {NodeListOf<SVGElement>} */ (this.querySelectorAll(".place"))) {
      const [otherString, otherFret] = (place.dataset.place || "0-0").split("-").map(Number);
      const along = strings ? (otherString - string) * strings : (otherFret - fret) * frets;
      const aside = strings ? Math.abs(otherFret - fret) : Math.abs(otherString - string) * 100;
      const distance = along * (strings ? 100 : 1) + aside;
      if (along > 0 && distance < nearest) [best, nearest] = [place, distance];
    }
    if (!best) return;
    from.setAttribute("tabindex", "-1");
    best.setAttribute("tabindex", "0");
    this.at = best.dataset.place || "";
    best.focus();
  }
}

/**
 * @param {string} legend
 * @param {string} name
 * @param {string[][]} options
 * @param {string} chosen
 * @param {(value: string) => void} choose
 */
function radios(legend, name, options, chosen, choose) {
  return el(
    "fieldset",
    { class: "choice" },
    el("legend", {}, legend),
    ...options.map(([value, words]) =>
      el("label", { class: "tick" }, el("input", { type: "radio", name, value, checked: value === chosen, onchange: () => choose(value) }), ` ${words}`),
    ),
  );
}

customElements.define("live-neck", LiveNeck);
