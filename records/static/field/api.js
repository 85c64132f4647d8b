// The public API, by the device's token. An answer counts only when it has come whole.

import { keep, kept } from "./store.js";

const ROOT = "/api/v1";
const PATIENCE = 30_000; // ms until an answer is given up; files get more by their size

// No clear answer: what was sent may have arrived or not, and is sent again as it is.
export class NoAnswer extends Error {
  constructor(words, after = 0) {
    super(words);
    this.after = after; // seconds that the service asks to wait
  }
}

// A clear refusal: status and problem document.
export class Refused extends Error {
  constructor(status, problem) {
    super(problem.detail || problem.title || `status ${status}`);
    this.status = status;
    this.problem = problem;
  }
}

export async function call(method, path, { body, headers = {}, token } = {}) {
  const bearer = token === undefined ? await kept("token") : token;
  const sent = { ...headers };
  if (bearer) sent.Authorization = `Bearer ${bearer}`;
  const patience = PATIENCE + (body instanceof Blob ? body.size / 10 : 0);
  let answer, text;
  try {
    answer = await fetch(ROOT + path, {
      method, headers: sent, body, credentials: "omit", cache: "no-store",
      signal: AbortSignal.timeout(patience),
    });
    text = await answer.text();
  } catch {
    throw new NoAnswer("no answer: there is no signal, or it broke off");
  }
  await noteClock(answer);
  if (answer.status === 304) return { status: 304, etag: answer.headers.get("ETag") };
  return readAnswer(answer, text);
}

function readAnswer(answer, text) {
  const { status } = answer;
  if (status >= 500 || status === 429) {
    const after = Number(answer.headers.get("Retry-After")) || 0;
    throw new NoAnswer(`the service cannot answer now (status ${status})`, after);
  }
  let document = null;
  try {
    if (status !== 204) document = JSON.parse(text);
  } catch {
    throw new NoAnswer(`the answer cannot be read (status ${status})`);
  }
  if (status >= 400) throw new Refused(status, document ?? {});
  return { status, document, etag: answer.headers.get("ETag") };
}

export const json = (document, type = "application/json") => ({
  body: JSON.stringify(document), headers: { "Content-Type": type },
});

// How far the device's clock is ahead of the service's, in ms, as last seen.
async function noteClock(answer) {
  const theirs = Date.parse(answer.headers.get("Date") ?? "");
  if (!Number.isNaN(theirs)) await keep("clockAhead", Date.now() - theirs);
}
