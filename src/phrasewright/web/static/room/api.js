/** api.js: what the room asks the studio, and what it answers. */

/**
 * @typedef {object} Finding
 * @property {string} topic
 * @property {string} words
 * @property {string} try what to try next
 * @property {number} confidence 0..1
 * @property {number[] | null} bars printed numbers
 * @property {number | null} at_s
 * @property {number | null} end_s
 *
 * @typedef {object} TakenNote
 * @property {number} at_s
 * @property {number} end_s
 * @property {string} name
 * @property {number} midi
 * @property {number | null} string
 * @property {number | null} fret
 * @property {number | null} bar
 * @property {number | null} beat
 * @property {number | null} written index of the written note
 * @property {string | null} verdict
 *
 * @typedef {object} Take
 * @property {string} id
 * @property {string} piece
 * @property {string} title
 * @property {number} tempo_bpm
 * @property {string} recorded_at
 * @property {number} seconds
 * @property {"waiting" | "heard" | "failed"} state
 * @property {string} words
 * @property {Finding[]} [findings]
 * @property {TakenNote[]} [notes]
 * @property {string} sound
 * @property {string} report
 *
 * @typedef {object} JobNews
 * @property {"queued" | "running" | "done" | "failed" | "cancelled"} state
 * @property {number} share 0..1
 * @property {string} words
 */

export const OWN_LINE = "track"; // what is played to it is the student's own
const OVER = ["done", "failed", "cancelled"];

/** A request that was not met, in words. */
export class Refused extends Error {}

/** @returns {Record<string, string>} */
function signed() {
  const token = document.querySelector("meta[name=phrasewright-token]")?.getAttribute("content");
  return token ? { "X-Phrasewright-Token": token } : {};
}

/**
 * @param {string} path
 * @param {string} [method]
 * @returns {Promise<any>}
 */
async function ask(path, method = "GET") {
  const answer = await fetch(path, { method, headers: method === "GET" ? {} : signed() }).catch(() => {
    throw new Refused("The studio cannot be reached.");
  });
  const body = await answer.json().catch(() => null);
  if (!answer.ok) throw new Refused(wordsOf(body));
  return body;
}

/** @param {any} body */
function wordsOf(body) {
  return [body?.message ?? "The studio could not do this.", body?.hint].filter(Boolean).join(" ");
}

/** @param {string} lesson @returns {Promise<Take[]>} */
export async function takesOf(lesson) {
  const answer = await ask(`/api/lessons/${encodeURIComponent(lesson)}/takes`);
  return Array.isArray(answer) ? answer : answer.takes;
}

/** @param {string} id @returns {Promise<Take>} */
export const takeOf = (id) => ask(`/api/takes/${encodeURIComponent(id)}`);

/** @param {string} id */
export const removeTake = (id) => ask(`/api/takes/${encodeURIComponent(id)}`, "DELETE");

/** @param {string} id */
export const restoreTake = (id) => ask(`/api/takes/${encodeURIComponent(id)}/restore`, "POST");

/** @param {string} job */
export const cancelJob = (job) => ask(`/api/jobs/${encodeURIComponent(job)}`, "DELETE");

/**
 * Send a take; sent twice it is kept once. Raises Refused.
 *
 * @param {import("./store.js").KeptTake} take
 * @param {Blob} wav
 * @param {(share: number) => void} progress
 * @returns {Promise<{id: string, job: string | null}>} job: that listens to it, null when it has been heard already
 */
export function sendTake(take, wav, progress) {
  const asked = new URLSearchParams({
    piece: take.piece === OWN_LINE ? "" : take.piece, tempo_bpm: String(Math.round(100 * take.tempoBpm) / 100), alone: String(take.alone),
    ...(take.offsetS === null ? {} : { offset_s: take.offsetS.toFixed(4) }),
  });
  return new Promise((done, fail) => {
    const request = new XMLHttpRequest(); // fetch tells nothing of how far it is
    request.open("POST", `/api/lessons/${encodeURIComponent(take.lesson)}/takes?${asked}`);
    request.responseType = "json";
    for (const [name, value] of Object.entries({ "Content-Type": "audio/wav", "Idempotency-Key": take.key, ...signed() })) request.setRequestHeader(name, value);
    request.upload.onprogress = (event) => event.lengthComputable && progress(event.loaded / event.total);
    request.onload = () => (request.status < 300 ? done(request.response) : fail(new Refused(wordsOf(request.response))));
    request.onerror = () => fail(new Refused("The studio cannot be reached."));
    request.send(wav);
  });
}

/**
 * Follow a job until it is over. A line that breaks is taken up again by the browser.
 *
 * @param {string} job
 * @param {(news: JobNews) => void} tell
 */
export function follow(job, tell) {
  const events = new EventSource(`/api/jobs/${encodeURIComponent(job)}/events`);
  events.onmessage = ({ data }) => {
    const news = /** @type {JobNews} */ (JSON.parse(data));
    if (OVER.includes(news.state)) events.close();
    tell(news);
  };
  events.onerror = () => {
    if (events.readyState === EventSource.CLOSED) tell({ state: "failed", share: 0, words: "The studio does not answer any more." });
  };
}
