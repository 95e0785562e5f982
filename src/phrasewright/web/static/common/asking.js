/* asking.js: asking the studio. A refusal is told in its own words; no answer at all is another matter. */

const NOTHING_TO_SAY = 204; // done, with no body (HTTP, RFC 9110, 15.3.5)

/** What was asked was not done, in words for whoever asked. */
export class NotDoneError extends Error {
  /** What to show: what is wrong, and how to mend it. */
  get words() {
    return this.message;
  }
}

/** The studio understood and said no. */
export class RefusedError extends NotDoneError {
  /**
   * @param {number} status
   * @param {{message?: string, hint?: string} | null} refusal
   */
  constructor(status, refusal) {
    super(refusal?.message || `The studio answered ${status}.`);
    this.status = status;
    this.hint = refusal?.hint || "";
  }

  get words() {
    return this.hint ? `${this.message} ${this.hint}` : this.message;
  }
}

/** The studio does not answer. */
export class SilentError extends NotDoneError {
  constructor() {
    super("The studio does not answer.");
  }
}

/** What shows that a request comes from a page of the studio. @returns {Record<string, string>} */
export function signed() {
  const token = document.querySelector('meta[name="phrasewright-token"]')?.getAttribute("content") || "";
  return { "X-Phrasewright-Token": token };
}

/**
 * What is answered, null when there is nothing to say. Raises RefusedError, SilentError.
 *
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body]
 * @returns {Promise<any>}
 */
export async function ask(method, path, body) {
  const headers = signed();
  if (body !== undefined) headers["Content-Type"] = "application/json";
  let answer;
  try {
    answer = await fetch(path, { method, headers, body: body === undefined ? undefined : JSON.stringify(body) });
  } catch {
    throw new SilentError();
  }
  if (answer.status === NOTHING_TO_SAY) return null;
  const content = await answer.json().catch(() => null);
  if (answer.ok && content !== null) return content;
  throw new RefusedError(answer.status, content);
}

/**
 * @typedef {object} JobNews
 * @property {"queued" | "running" | "done" | "failed" | "cancelled"} state
 * @property {number} share 0..1
 * @property {string} words
 * @property {{message: string, hint: string} | null} [refusal] why it failed
 */

const OVER = ["done", "failed", "cancelled"];

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
