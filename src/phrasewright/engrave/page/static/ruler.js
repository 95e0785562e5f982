/* ruler.js: the bars of a piece on one line: phrases as ribbons of ink, silence as paper, repeat signs that loop.
 *
 * The loop handles are sliders that stand on bar lines: drag them, or move them with the arrow keys. A tap on a
 * bar goes there.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const SVG = "http://www.w3.org/2000/svg";
  const UNITS = 200; // of the drawing, to a quarter note
  const RIBBON_TOP = 18; // of 100 units of height
  const RIBBON_DEPTH = 64;
  const LABEL_ROOM = 34; // pixels a bar needs to carry its number and chord

  function element(name, className, parent) {
    const made = document.createElement(name);
    made.className = className;
    parent.append(made);
    return made;
  }

  /** Height of each pitch on the ribbon, 0..100 from the top; middle when there is only one. */
  function heightsOf(piece) {
    const pitches = piece.events.filter((event) => event.role === "lead").map((event) => event.pitch);
    const low = Math.min(...pitches);
    const high = Math.max(...pitches);
    return (pitch) => RIBBON_TOP + RIBBON_DEPTH * (high > low ? (high - pitch) / (high - low) : 0.5);
  }

  /** The ribbon of one phrase as an SVG path: level while a note holds, straight to the next. */
  function ribbonPath(phrase, heightOf) {
    const points = phrase.notes.flatMap((note, index) => {
      const last = index === phrase.notes.length - 1;
      const hold = note.q + (note.qEnd - note.q) * (last ? 1 : 0.6);
      const height = heightOf(note.pitch).toFixed(1);
      return [`${(UNITS * note.q).toFixed(1)} ${height}`, `${(UNITS * hold).toFixed(1)} ${height}`];
    });
    return `M${points.join(" L")}`;
  }

  /** How many bars from one printed number to the next, so that numbers never touch. */
  function labelStep(bars, widthPx) {
    const room = widthPx / bars;
    return [1, 2, 4, 8, 16].find((step) => step * room >= LABEL_ROOM) || 32;
  }

  class Ruler {
    /** calls: {seek(bar), loop(from, to)} with bar indexes. */
    constructor(root, calls) {
      this.root = root;
      this.calls = calls;
      this.field = root.querySelector(".ruler-field");
      this.handles = [...root.querySelectorAll("[role=slider]")];
      this.cursor = root.querySelector(".ruler-now");
      this.span = root.querySelector(".ruler-span");
      this.field.addEventListener("click", (event) => this.tap(event));
      this.handles.forEach((handle, side) => this.wire(handle, side));
      window.addEventListener("resize", () => this.piece && this.label());
    }

    /** Draw a piece. */
    draw(piece) {
      this.piece = piece;
      this.field.replaceChildren();
      this.cells = piece.bars.map((bar) => {
        const cell = element("div", "ruler-bar", this.field);
        cell.style.left = `${(100 * bar.q) / piece.end}%`;
        cell.style.width = `${(100 * bar.length) / piece.end}%`;
        element("span", "ruler-number", cell);
        return cell;
      });
      this.drawRibbons();
      this.label();
    }

    drawRibbons() {
      const svg = document.createElementNS(SVG, "svg");
      svg.setAttribute("viewBox", `0 0 ${UNITS * this.piece.end} 100`);
      svg.setAttribute("preserveAspectRatio", "none");
      svg.setAttribute("aria-hidden", "true");
      const heightOf = heightsOf(this.piece);
      for (const phrase of app.piece.phrases(this.piece)) {
        const path = document.createElementNS(SVG, "path");
        path.setAttribute("d", ribbonPath(phrase, heightOf));
        svg.append(path);
      }
      this.field.append(svg);
    }

    label() {
      const step = labelStep(this.piece.bars.length, this.field.clientWidth);
      const chords = step === 1 && this.field.clientWidth / this.piece.bars.length > 2 * LABEL_ROOM;
      this.cells.forEach((cell, index) => {
        const bar = this.piece.bars[index];
        const names = chords ? bar.chords.map((chord) => chord.name).join(" ") : "";
        const label = cell.firstChild;
        label.textContent = index % step ? "" : `${bar.number}${names ? `  ${names}` : ""}`;
        if (names && label.offsetWidth + 8 > cell.offsetWidth) label.textContent = String(bar.number);
      });
    }

    /** Put the repeat signs round bars from..to. */
    mark(from, to, on) {
      const { piece } = this;
      this.loopBars = [from, to];
      const edges = [piece.bars[from].q, app.piece.endOf(piece, to).q];
      this.handles.forEach((handle, side) => {
        handle.style.left = `${(100 * edges[side]) / piece.end}%`;
        const number = piece.bars[side ? to : from].number;
        handle.setAttribute("aria-valuemin", String(piece.bars[0].number));
        handle.setAttribute("aria-valuemax", String(piece.bars[piece.bars.length - 1].number));
        handle.setAttribute("aria-valuenow", String(number));
        handle.setAttribute("aria-valuetext", `bar ${number}`);
      });
      this.span.style.left = `${(100 * edges[0]) / piece.end}%`;
      this.span.style.width = `${(100 * (edges[1] - edges[0])) / piece.end}%`;
      this.root.classList.toggle("is-looping", on);
    }

    /** Move the mark of the place to a written time. */
    place(q) {
      this.cursor.style.left = `${(100 * Math.min(q, this.piece.end)) / this.piece.end}%`;
    }

    timeAt(clientX) {
      const box = this.field.getBoundingClientRect();
      return (this.piece.end * Math.max(0, Math.min(1, (clientX - box.left) / box.width)));
    }

    tap(event) {
      this.calls.seek(app.piece.barAt(this.piece, this.timeAt(event.clientX)));
    }

    move(side, index) {
      const [from, to] = this.loopBars;
      const last = this.piece.bars.length - 1;
      if (side === 0) this.calls.loop(Math.max(0, Math.min(index, to)), to);
      else this.calls.loop(from, Math.min(last, Math.max(index, from)));
    }

    wire(handle, side) {
      handle.addEventListener("pointerdown", (event) => {
        handle.setPointerCapture(event.pointerId);
        event.preventDefault();
        handle.focus({ preventScroll: true });
      });
      handle.addEventListener("pointermove", (event) => {
        if (handle.hasPointerCapture(event.pointerId)) this.drag(side, this.timeAt(event.clientX));
      });
      handle.addEventListener("keydown", (event) => this.key(side, event));
    }

    /** The bar line nearest to a time becomes the edge. */
    drag(side, q) {
      const { bars, end } = this.piece;
      const lines = [...bars.map((bar) => bar.q), end];
      let nearest = 0;
      lines.forEach((line, index) => {
        if (Math.abs(line - q) < Math.abs(lines[nearest] - q)) nearest = index;
      });
      this.move(side, side === 0 ? nearest : nearest - 1);
    }

    key(side, event) {
      const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -4, PageUp: 4 }[event.key];
      const now = this.loopBars[side];
      if (step) this.move(side, now + step);
      else if (event.key === "Home") this.move(side, 0);
      else if (event.key === "End") this.move(side, this.piece.bars.length - 1);
      else return;
      event.preventDefault();
      event.stopPropagation();
    }
  }

  app.ruler = { Ruler, ribbonPath, labelStep };
})();
