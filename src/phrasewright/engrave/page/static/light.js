/* light.js: what sounds now is marked in notation, tablature, neck, chart, strip and margin, all at once.
 *
 * Marks are classes (`is-now`), changed only where they change. Nothing else on the page moves.
 */
(function () {
  "use strict";
  const app = (window.Phrasewright = window.Phrasewright || {});
  const NOW = "is-now";
  const NONE = -1; // no bar: 0 is a pick-up

  /** What to mark at a moment of the transport: note indexes, places, bar numbers. Pure. */
  function marksOf(moment) {
    const { place, sounding, plan } = moment;
    const bar = plan.piece.bars[place.bar];
    const lead = sounding.filter((item) => item.event && item.event.note >= 0).map((item) => item.event);
    return {
      notes: lead.map((event) => event.note),
      places: place.counting ? [] : lead.map((event) => event.place).filter(Boolean),
      bar: place.counting ? NONE : bar.number,
      chartBar: place.counting ? NONE : bar.chartBar,
    };
  }

  function add(map, key, element) {
    if (!map.has(key)) map.set(key, []);
    map.get(key).push(element);
  }

  function byData(root, selector, name) {
    const map = new Map();
    for (const element of root.querySelectorAll(selector)) add(map, element.dataset[name], element);
    return map;
  }

  /** Elements of each note: ids {prefix}n{k} and {prefix}t{k}, with anything after k for the tied pieces of a note. */
  function byNote(root, prefixes) {
    const map = new Map();
    for (const element of root.querySelectorAll("[id]")) {
      for (const prefix of prefixes) {
        const match = element.id.startsWith(prefix) && /^[nt](\d+)/.exec(element.id.slice(prefix.length));
        if (match) add(map, match[1], element);
      }
    }
    for (const element of root.querySelectorAll("[data-note]")) add(map, element.dataset.note, element);
    return map;
  }

  class Light {
    constructor(root) {
      this.root = root;
      this.lit = new Set();
      this.refresh();
    }

    /** Look again for necks and charts, after some were added. */
    refresh() {
      this.places = byData(this.root, "[data-necks] [data-place], .desk-neck [data-place]", "place");
      this.chart = byData(this.root, ".chart [data-bar]", "bar");
    }

    /** Follow a piece whose figures stand in a container. */
    follow(container) {
      this.clear();
      const prefixes = container ? (container.dataset.prefixes || "").split(" ").filter(Boolean) : [];
      this.notes = container ? byNote(container, prefixes) : new Map();
      this.strip = container ? byData(container, ".strip [data-bar]", "bar") : new Map();
      this.reasons = container ? [...container.querySelectorAll("[data-from-bar]")] : [];
    }

    elementsOf(marks) {
      const found = [];
      for (const note of marks.notes) found.push(...(this.notes.get(String(note)) || []));
      for (const place of marks.places) found.push(...(this.places.get(place) || []));
      if (marks.chartBar !== NONE) found.push(...(this.chart.get(String(marks.chartBar)) || []));
      if (marks.bar !== NONE) found.push(...(this.strip.get(String(marks.bar)) || []));
      for (const reason of this.reasons) {
        if (marks.bar !== NONE && reason.dataset.fromBar <= marks.bar && marks.bar <= reason.dataset.toBar) found.push(reason);
      }
      return new Set(found);
    }

    show(marks) {
      const next = this.elementsOf(marks);
      for (const element of this.lit) if (!next.has(element)) element.classList.remove(NOW);
      for (const element of next) if (!this.lit.has(element)) element.classList.add(NOW);
      this.lit = next;
    }

    clear() {
      for (const element of this.lit) element.classList.remove(NOW);
      this.lit = new Set();
    }
  }

  app.light = { Light, marksOf };
})();
