/* desk.js: sets the teacher's desk going: the lesson, its parts, undo and sound. */

import "./chart.js";
import "./counts.js";
import { el, one, say } from "../common/dom.js";
import { Fields } from "./fields.js";
import { Hear, player } from "./hear.js";
import { Lesson } from "./lesson.js";
import "./neck.js";
import "./pack.js";
import "./shelf.js";
import "./studies.js";

const id = document.querySelector('meta[name="phrasewright-lesson"]')?.getAttribute("content") || "";
const lesson = new Lesson(id);
const hear = new Hear(lesson);
const sheet = one(document, "#sheet");
const shown = (/** @type {string} */ name) => one(document, `[data-show="${name}"]`);

/** @param {{words: string, urgent: boolean, deed: {label: string, act: () => void} | null}} detail */
function notice({ words, urgent, deed }) {
  const box = el(
    "div",
    { class: `notice${urgent ? " is-refusal" : ""}`, role: urgent ? "alert" : "status" },
    el("p", {}, words),
    deed ? el("button", { type: "button", onclick: () => (box.remove(), deed.act()) }, deed.label) : null,
    el("button", { type: "button", class: "plain", onclick: () => box.remove() }, "Close"),
  );
  const notices = one(document, "#notices");
  while (notices.children.length > 2) notices.firstElementChild?.remove();
  notices.append(box);
  if (!urgent && !deed) window.setTimeout(() => box.remove(), 8000);
}

function showView() {
  const view = lesson.view;
  if (!view) return;
  say(shown("title"), view.title);
  document.title = `${view.title} – desk`;
  say(shown("facts"), view.plan ? view.plan.facts.map(([name, words]) => `${name}: ${words}`).join(" · ") : "");
  say(shown("place"), view.plan?.neck.name || "");
  document.body.classList.toggle("is-old", view.plan_is_old);
  showUndo();
  showTempos();
  showState();
}

function showUndo() {
  for (const way of /** @type {const} */ (["undo", "redo"])) {
    const words = lesson.view?.[way] || "";
    /** @type {HTMLButtonElement} */ (one(document, `[data-do="${way}"]`)).disabled = !words || words === "made";
    say(shown(way), words === "made" ? "" : words);
  }
}

function showTempos() {
  const select = /** @type {HTMLSelectElement} */ (shown("tempos"));
  const tempos = lesson.view?.plan?.tempos || [];
  if (select.dataset.of === tempos.join()) return;
  select.dataset.of = tempos.join();
  select.replaceChildren(...tempos.map((tempo) => el("option", { value: tempo }, `${tempo}`)));
  hear.tempo = tempos.includes(hear.tempo) ? hear.tempo : tempos[0] || 0;
  select.value = String(hear.tempo);
}

function showState() {
  const problems = lesson.view?.problems.length || 0;
  const mending = problems ? `${problems === 1 ? "One thing" : `${problems} things`} to mend; ${lesson.view?.plan ? "what you see is of the last state without mistakes" : "before that nothing can be drawn or heard"}.` : "";
  const words = { saving: "Saving …", kept: "The studio does not answer. What you did is kept in this browser and sent as soon as it does.", saved: mending || "Saved." };
  say(shown("state"), words[lesson.state]);
}

/** @param {KeyboardEvent} event */
function pressed(event) {
  const key = event.key.toLowerCase();
  if ((event.ctrlKey || event.metaKey) && !event.altKey && (key === "z" || key === "y")) {
    const active = document.activeElement;
    const path = active instanceof HTMLElement ? active.dataset.path || "" : "";
    const typing = active instanceof HTMLTextAreaElement || (active instanceof HTMLInputElement && active.type === "text");
    if (typing && (path in fields.drafts || !path)) return; // the field's own undo
    event.preventDefault();
    if (key === "y" || event.shiftKey) lesson.redo();
    else lesson.undo();
  } else if (event.key === "Escape" && hear.isPlaying) {
    hear.stop();
  }
}

/** @type {any} */
let light = null;

function showHeard(/** @type {any} */ event) {
  const playing = hear.isPlaying && hear.piece;
  const words = event.detail.loading ? `Making the sound of ${event.detail.loading} …` : playing ? `Playing ${hear.title}.` : "";
  say(shown("heard"), words);
  /** @type {HTMLButtonElement} */ (one(document, '[data-do="stop"]')).disabled = !playing && !event.detail.loading;
  if (!playing) {
    light?.clear();
    return;
  }
  light?.refresh();
  light?.follow(document.querySelector(`[data-piece="${hear.piece?.id}"]`));
}

/** A single note lights where it was asked for. @param {any} event */
function flash(event) {
  const place = document.querySelector(`live-neck [data-place="${event.detail.place}"]`);
  place?.classList.add("is-now");
  window.setTimeout(() => place?.classList.remove("is-now"), 400);
}

const fields = new Fields(sheet, lesson);
lesson.addEventListener("notice", (event) => notice(/** @type {CustomEvent} */ (event).detail));
lesson.addEventListener("state", showState);
lesson.addEventListener("view", showView);
lesson.addEventListener("view", () => hear.prepare());
hear.addEventListener("change", showHeard);
hear.addEventListener("note", flash);
hear.addEventListener("moment", (event) => light?.show(player().light.marksOf(/** @type {CustomEvent} */ (event).detail)));
document.addEventListener("keydown", pressed);
sheet.addEventListener("drawn", () => {
  if (hear.isPlaying) light?.follow(document.querySelector(`[data-piece="${hear.piece?.id}"]`));
});
one(document, '[data-do="undo"]').addEventListener("click", () => lesson.undo());
one(document, '[data-do="redo"]').addEventListener("click", () => lesson.redo());
one(document, '[data-do="stop"]').addEventListener("click", () => hear.stop());
shown("tempos").addEventListener("change", (event) => {
  hear.tempo = Number(/** @type {HTMLSelectElement} */ (event.target).value);
  hear.stop();
});
window.addEventListener("beforeunload", (event) => {
  if (lesson.busy) event.preventDefault();
});

async function begin() {
  try {
    await lesson.load();
  } catch (error) {
    notice({ words: /** @type {Error} */ (error).message, urgent: true, deed: { label: "Try again", act: begin } });
    return;
  }
  /** @type {any} */ (one(document, "study-list")).join(lesson, hear); // first, as its music takes longest to come
  const neck = /** @type {import("./neck.js").LiveNeck} */ (one(document, "live-neck"));
  neck.join(lesson, hear);
  neck.show();
  /** @type {any} */ (one(document, "motif-shelf")).join(lesson, hear);
  /** @type {any} */ (one(document, "count-list")).join(lesson, hear);
  /** @type {any} */ (one(document, "chart-desk")).join(lesson, neck, hear);
  /** @type {any} */ (one(document, "exercise-list")).join(lesson);
  /** @type {any} */ (one(document, "pack-desk")).join(lesson);
  /** @type {any} */ (one(document, "lesson-text")).join(lesson);
  light = new (player().light.Light)(document.body);
  const restored = fields.restore();
  if (restored) notice({ words: "What you were typing when this page was closed is back in its field. Leave the field to save it, or press Escape in it to let it go.", urgent: false, deed: null });
  document.documentElement.classList.add("is-ready");
}

begin();
