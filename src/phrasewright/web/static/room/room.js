/** room.js: makes a lesson's page the student's room: recording, what was heard, and listening live. */

import "./live-listener.js";
import "./take-recorder.js";
import "./take-review.js";
import "./take-sender.js";
import { el } from "../common/dom.js";
import { Microphone } from "./microphone.js";
import { thePlayer } from "./player.js";
import { openStore } from "./store.js";

/**
 * The section that records, in the sheet before what is to take away.
 *
 * @param {HTMLElement} main
 */
function addSection(main) {
  const section = el("section", { id: "record", "aria-labelledby": "record-title" });
  section.append(el("h2", { id: "record-title" }, "Record"));
  const parts = ["take-recorder", "take-sender", "take-review"].map((name) => document.createElement(name));
  section.append(...parts);
  main.insertBefore(section, main.querySelector("#files"));
  const item = el("li");
  item.append(el("a", { href: "#record" }, "Record"));
  const order = document.querySelector(".order ol");
  order?.insertBefore(item, order.querySelector("a[href='#files']")?.parentElement ?? null);
  return parts;
}

/** The way back to the other lessons. */
function addWayBack() {
  const way = el("p", { class: "all-lessons" });
  way.append(el("a", { href: "/" }, "All lessons"));
  document.querySelector("header.head")?.prepend(way);
}

async function begin() {
  const lesson = document.querySelector("meta[name=phrasewright-room]")?.getAttribute("content");
  const player = await thePlayer();
  const main = document.querySelector("main");
  if (!lesson || !player || !main) return;
  addWayBack();
  const [store, microphone] = [await openStore(), new Microphone(player.desk)];
  const parts = addSection(/** @type {HTMLElement} */ (main));
  const recorder = /** @type {import("./take-recorder.js").TakeRecorder} */ (parts[0]);
  const sender = /** @type {import("./take-sender.js").TakeSender} */ (parts[1]);
  const review = /** @type {import("./take-review.js").TakeReview} */ (parts[2]);
  recorder.join(player, microphone, store, lesson);
  recorder.addEventListener("take-recorded", (event) => sender.send(/** @type {CustomEvent} */ (event).detail));
  sender.addEventListener("take-heard", async (event) => {
    await review.refresh();
    const id = /** @type {CustomEvent} */ (event).detail;
    if (id) await review.show(id);
  });
  const listener = /** @type {import("./live-listener.js").LiveListener} */ (document.createElement("live-listener"));
  listener.className = "group fold";
  const row = document.querySelector(".desk-row");
  row?.insertBefore(listener, row.querySelector(".desk-more"));
  listener.join(player, microphone);
  await Promise.all([sender.join(store, lesson), review.join(player, lesson)]);
  document.documentElement.classList.add("is-room");
}

begin();
