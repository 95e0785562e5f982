/* api.js: asking the studio. A refusal is told in its own words; no answer at all is another matter. */

/** The studio understood and said no. */
export class RefusedError extends Error {
  /**
   * @param {number} status
   * @param {{message: string, hint?: string}} refusal
   */
  constructor(status, refusal) {
    super(refusal.message);
    this.status = status;
    this.hint = refusal.hint || "";
  }

  /** What to show: what is wrong, and how to mend it. */
  get words() {
    return this.hint ? `${this.message} ${this.hint}` : this.message;
  }
}

/** The studio does not answer. */
export class SilentError extends Error {}

const token = () => document.querySelector('meta[name="phrasewright-token"]')?.getAttribute("content") || "";

/**
 * @param {string} method
 * @param {string} path
 * @param {unknown} [body]
 * @returns {Promise<any>}
 */
export async function ask(method, path, body) {
  /** @type {Record<string, string>} */
  const headers = { "X-Phrasewright-Token": token() };
  if (body !== undefined) headers["Content-Type"] = "application/json";
  let answer;
  try {
    answer = await fetch(path, { method, headers, body: body === undefined ? undefined : JSON.stringify(body) });
  } catch {
    throw new SilentError("The studio does not answer.");
  }
  const content = await answer.json().catch(() => null);
  if (answer.ok && content !== null) return content;
  throw new RefusedError(answer.status, content && content.message ? content : { message: `The studio answered ${answer.status}.` });
}
