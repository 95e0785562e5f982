/* report.js: the take plays, a cursor goes along its lines, notes light up; click a note to hear it.
 *
 * Everything on the sheet that belongs to note k has `data-note="k"`. Marks are classes (`is-now`), changed only where
 * they change. Keys: space plays and stops, arrows go from note to note, Home goes back to the start.
 */
(function () {
  "use strict";
  const NOW = "is-now";
  const LEAD_IN_S = 0.04; // a click starts just before the note, so that its attack is whole
  const take = JSON.parse(document.getElementById("take-data").textContent);
  const byId = (id) => document.getElementById(id);
  const audio = byId("take");
  const seek = byId("seek");
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const lines = [...document.querySelectorAll(".take-line")].map((element) => ({
    element,
    cursor: element.querySelector(".cursor"),
    points: JSON.parse(element.dataset.points),
  }));
  const marks = new Map();
  for (const element of document.querySelectorAll("[data-note]")) {
    const note = Number(element.dataset.note);
    if (!marks.has(note)) marks.set(note, []);
    marks.get(note).push(element.closest("tr") || element);
  }
  let until = null; // where a stretch that is being heard ends
  let lit = new Set();
  let frame = 0;

  /** Place on a row of points, straight between them; null outside. */
  function along(points, at, from, to) {
    if (at < points[0][from] || at > points[points.length - 1][from]) return null;
    let low = 0;
    let high = points.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (points[middle][from] <= at) low = middle;
      else high = middle;
    }
    const [a, b] = [points[low], points[high]];
    return b[from] === a[from] ? a[to] : a[to] + ((b[to] - a[to]) * (at - a[from])) / (b[from] - a[from]);
  }

  function sounding(at) {
    const found = [];
    for (let note = 0; note < take.notes.length; note += 1) {
      if (take.notes[note][0] > at) break;
      if (take.notes[note][1] > at) found.push(note);
    }
    return found;
  }

  /** The note that began last, -1 before the first. */
  function noteAt(at) {
    let found = -1;
    while (found + 1 < take.notes.length && take.notes[found + 1][0] <= at + LEAD_IN_S + 0.001) found += 1;
    return found;
  }

  function placeWords(at) {
    const clock = `${Math.floor(at / 60)}:${String(Math.floor(at % 60)).padStart(2, "0")}`;
    let bar = null;
    for (const [second, number] of take.bars) if (second <= at + 0.02) bar = number;
    return bar === null ? clock : `bar ${bar}, ${clock}`;
  }

  function light(at) {
    const next = new Set(sounding(at).flatMap((note) => marks.get(note) || []));
    for (const element of lit) if (!next.has(element)) element.classList.remove(NOW);
    for (const element of next) if (!lit.has(element)) element.classList.add(NOW);
    lit = next;
  }

  function show() {
    const at = audio.currentTime;
    const note = noteAt(at);
    const shown = calm.matches && note >= 0 ? Math.max(take.notes[note][0], 0) : at;
    for (const line of lines) {
      const share = along(line.points, shown, 0, 1);
      const isNow = share !== null;
      if (isNow) line.cursor.style.left = `${share}%`;
      if (isNow && !audio.paused && !line.element.classList.contains(NOW) && line.element.offsetParent && line.element.closest("#played")) {
        line.element.scrollIntoView({ block: "nearest", behavior: calm.matches ? "auto" : "smooth" });
      }
      line.element.classList.toggle(NOW, isNow);
    }
    light(at);
    if (document.activeElement !== seek || !audio.paused) seek.value = at;
    seek.setAttribute("aria-valuetext", placeWords(at));
    byId("place").textContent = placeWords(at);
  }

  function follow() {
    show();
    if (until !== null && audio.currentTime >= until) {
      audio.pause();
      until = null;
    }
    if (!audio.paused) frame = requestAnimationFrame(follow);
  }

  function playFrom(second, to) {
    audio.currentTime = Math.max(0, second - LEAD_IN_S);
    until = to === undefined ? null : to;
    audio.play();
  }

  function toggle() {
    until = null;
    if (audio.paused) audio.play();
    else audio.pause();
  }

  function step(way) {
    if (!take.notes.length) return;
    const note = Math.min(Math.max(noteAt(audio.currentTime) + way, 0), take.notes.length - 1);
    audio.currentTime = Math.max(0, take.notes[note][0] - LEAD_IN_S);
    until = null;
    byId("say").textContent = take.notes[note][2];
    show();
  }

  function state() {
    const playing = !audio.paused;
    document.querySelector("#play [data-word]").textContent = playing ? "Stop" : "Play";
    byId("player").classList.toggle("is-playing", playing);
    cancelAnimationFrame(frame);
    follow();
  }

  audio.controls = false;
  document.documentElement.classList.add("is-live");
  for (const name of ["play", "pause", "ended"]) audio.addEventListener(name, state);
  audio.addEventListener("seeked", show);
  byId("play").addEventListener("click", toggle);
  byId("before").addEventListener("click", () => step(-1));
  byId("after").addEventListener("click", () => step(1));
  byId("speed").addEventListener("change", (event) => {
    audio.preservesPitch = true;
    audio.playbackRate = Number(event.target.value);
  });
  seek.addEventListener("input", () => {
    audio.currentTime = Number(seek.value);
    until = null;
  });
  document.addEventListener("click", (event) => {
    const stretch = event.target.closest("[data-from]");
    const note = event.target.closest("[data-note]");
    const line = event.target.closest(".take-line");
    if (stretch) playFrom(Number(stretch.dataset.from), Number(stretch.dataset.to));
    else if (note) {
      const number = Number(note.dataset.note);
      byId("say").textContent = take.notes[number][2];
      playFrom(take.notes[number][0]);
    } else if (line) {
      const box = line.getBoundingClientRect();
      const points = lines.find((one) => one.element === line).points;
      const second = along(points, (100 * (event.clientX - box.left)) / box.width, 1, 0);
      if (second !== null) playFrom(second);
    }
  });
  document.addEventListener("keydown", (event) => {
    const own = event.target.closest("button, summary, a, select, input, [role=region]");
    if (event.ctrlKey || event.altKey || event.metaKey || (own && own.id !== "play")) return;
    if (event.key === " " && !own) toggle();
    else if (event.key === "ArrowRight") step(1);
    else if (event.key === "ArrowLeft") step(-1);
    else if (event.key === "Home") audio.currentTime = 0;
    else return;
    event.preventDefault();
  });
  show();
})();
