// report.js: the take sounds from any place, and what sounds is lit. Everything it needs stands in the page.
"use strict";
(() => {
  const take = JSON.parse(document.getElementById("take").textContent);
  const said = document.getElementById("said");
  const play = document.getElementById("play");
  const timeNow = document.getElementById("time-now");
  const lines = [...document.querySelectorAll(".line")].map((box) => ({
    box,
    cursor: box.querySelector(".cursor"),
    points: JSON.parse(box.dataset.points),
  }));
  let context = null;
  let sound = null; // promise of the decoded take
  let source = null;
  let run = null; // {from, to, began} in seconds of the take and of the context
  let at = 0;
  let note = -1;
  let turn = 0; // of the last wish: an older one that is still decoding gives way

  /** Straight lines through points, by their first or second number; null outside. */
  const along = (points, value, by) => {
    if (value < points[0][by] || value > points[points.length - 1][by]) return null;
    const after = Math.max(1, points.findIndex((point) => point[by] >= value));
    const [a, b] = [points[after - 1], points[after]];
    return a[1 - by] + ((value - a[by]) / (b[by] - a[by] || 1)) * (b[1 - by] - a[1 - by]);
  };

  const decoded = () => {
    context ??= new AudioContext({ sampleRate: 16000 });
    const letters = document.getElementById("sound").textContent;
    sound ??= context.decodeAudioData(Uint8Array.from(atob(letters), (letter) => letter.charCodeAt(0)).buffer);
    return sound;
  };

  const light = (second, isPlaying) => {
    const now = isPlaying
      ? take.notes.flatMap(([on, off], number) => (on <= second && second < off ? [number] : []))
      : note >= 0 ? [note] : [];
    const wanted = new Set(now.map(String));
    for (const lit of document.querySelectorAll("[data-note].is-now")) {
      if (!wanted.has(lit.dataset.note)) lit.classList.remove("is-now");
    }
    for (const number of wanted) {
      for (const part of document.querySelectorAll(`[data-note="${number}"]`)) part.classList.add("is-now");
    }
    for (const { cursor, points } of lines) {
      const x = along(points, second, 0);
      cursor.hidden = x === null || (second === 0 && !isPlaying);
      if (x !== null) cursor.style.left = `${x}%`;
    }
    const minutes = Math.floor(second / 60);
    timeNow.textContent = `${minutes}:${String(Math.floor(second % 60)).padStart(2, "0")}`;
  };

  const stop = () => {
    turn += 1;
    if (source) { source.onended = null; source.stop(); source = null; }
    if (run) at = Math.min(run.from + context.currentTime - run.began, run.to);
    run = null;
    play.classList.remove("is-playing");
    play.parentElement.classList.remove("is-playing");
    play.querySelector("[data-word]").textContent = "Play";
    light(at, false);
  };

  const frame = () => {
    if (!run) return;
    light(Math.min(run.from + Math.max(context.currentTime - run.began, 0), run.to), true);
    requestAnimationFrame(frame);
  };

  const sounds = async (from, to) => {
    stop();
    const mine = (turn += 1);
    try {
      const buffer = await decoded();
      await context.resume();
      if (mine !== turn) return;
      source = context.createBufferSource();
      source.buffer = buffer;
      source.connect(context.destination);
      source.onended = () => { const end = run ? run.to : at; stop(); at = end >= take.length - 0.05 ? 0 : end; light(at, false); };
      source.start(0, from, to - from);
      run = { from, to, began: context.currentTime };
      play.parentElement.classList.add("is-playing");
      play.querySelector("[data-word]").textContent = "Stop";
      frame();
    } catch (error) {
      said.textContent = "This browser cannot play the sound of the take.";
    }
  };

  const hear = (number) => {
    note = Math.min(Math.max(number, 0), take.notes.length - 1);
    const [on, off, words] = take.notes[note] ?? [0, 0, ""];
    said.textContent = words;
    at = on;
    if (words) void sounds(on, Math.max(off, on + 0.15));
  };

  const toggle = () => {
    if (run) { stop(); return; }
    note = -1;
    said.textContent = "";
    void sounds(at >= take.length ? 0 : at, take.length);
  };
  const begin = () => { stop(); at = 0; note = -1; light(0, false); };

  play.addEventListener("click", toggle);
  document.getElementById("before").addEventListener("click", () => hear(note - 1));
  document.getElementById("after").addEventListener("click", () => hear(note + 1));
  document.getElementById("begin").addEventListener("click", begin);
  for (const button of document.querySelectorAll("[data-from]")) {
    button.addEventListener("click", () => { note = -1; void sounds(Number(button.dataset.from), Number(button.dataset.to)); });
  }
  for (const button of document.querySelectorAll("[data-hear]")) {
    button.addEventListener("click", () => hear(Number(button.dataset.hear)));
  }
  document.querySelector("main").addEventListener("click", (event) => {
    const part = event.target.closest("[data-note]");
    if (part) { hear(Number(part.dataset.note)); return; }
    const line = lines.find(({ box }) => box === event.target.closest(".line"));
    if (!line) return;
    const edges = line.box.getBoundingClientRect();
    const second = along(line.points, (100 * (event.clientX - edges.left)) / edges.width, 1);
    if (second !== null) { note = -1; said.textContent = ""; void sounds(Math.max(second, 0), take.length); }
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("summary, [tabindex]")) return;
    const does = { " ": toggle, ArrowLeft: () => hear(note - 1), ArrowRight: () => hear(note + 1), 0: begin }[event.key];
    if (!does || (event.key === " " && event.target.closest("button, a"))) return;
    event.preventDefault();
    does();
  });
  document.documentElement.classList.add("is-live");
  light(0, false);
})();
