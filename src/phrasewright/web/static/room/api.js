/** api.js: what the room asks the studio, and what it answers. */

import { ask, RefusedError, signed, SilentError } from "../common/asking.js";

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
 */

export const OWN_LINE = "track"; // what is played to it is the student's own

/** @param {string} lesson @returns {Promise<Take[]>} */
export async function takesOf(lesson) {
  const answer = await ask("GET", `/api/lessons/${encodeURIComponent(lesson)}/takes`);
  return Array.isArray(answer) ? answer : answer.takes;
}

/** @param {string} id @returns {Promise<Take>} */
export const takeOf = (id) => ask("GET", `/api/takes/${encodeURIComponent(id)}`);

/** @param {string} id */
export const removeTake = (id) => ask("DELETE", `/api/takes/${encodeURIComponent(id)}`);

/** @param {string} id */
export const restoreTake = (id) => ask("POST", `/api/takes/${encodeURIComponent(id)}/restore`);

/** @param {string} job */
export const cancelJob = (job) => ask("DELETE", `/api/jobs/${encodeURIComponent(job)}`);

/**
 * Send a take; sent twice it is kept once. Raises RefusedError, SilentError.
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
    request.onload = () => (request.status < 300 ? done(request.response) : fail(new RefusedError(request.status, request.response)));
    request.onerror = () => fail(new SilentError());
    request.send(wav);
  });
}
