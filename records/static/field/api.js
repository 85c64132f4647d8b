// The public API, by the device's token. An answer counts only when it has come whole.

import { keep, kept, noted } from "./store.js";

const ROOT = "/api/v1";
const PATIENCE = 30_000; // ms until an answer is given up; files get more by their size

// What a proxy says in its own words, and is clear all the same.
const CLEAR = {
  413: "it is larger than the service takes",
  415: "the service does not take what is of this kind",
};

// No clear answer: what was sent may have arrived or not, and is sent again as it is.
export class NoAnswer extends Error {
  constructor(words, { after = 0, status = 0 } = {}) {
    super(words);
    this.after = after; // seconds that the service asks to wait
    this.alone = status === 500 || (status >= 400 && status < 500 && status !== 429); // others may get one
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
      method, headers: sent, body, credentials: "omit", cache: "no-store", redirect: "error",
      signal: AbortSignal.timeout(patience),
    });
    text = await answer.text();
  } catch {
    throw new NoAnswer("no answer: there is no signal, or it broke off");
  }
  if (answer.status === 304) return { status: 304, etag: answer.headers.get("ETag") };
  return readAnswer(answer, text);
}

async function readAnswer(answer, text) {
  const { status } = answer;
  if (status >= 500 || status === 429 || status === 408) {
    const after = Number(answer.headers.get("Retry-After")) || 0;
    throw new NoAnswer(`the service cannot answer now (status ${status})`, { after, status });
  }
  let document = null;
  try {
    if (status !== 204) document = JSON.parse(text);
  } catch {
    if (CLEAR[status]) throw new Refused(status, { detail: CLEAR[status] });
    throw new NoAnswer(`the answer cannot be read (status ${status})`, { status });
  }
  await noted(noteClock(answer)); // of the service alone: a network that asks for a login has none
  if (status >= 400) throw new Refused(status, document ?? {});
  return { status, document, etag: answer.headers.get("ETag") };
}

// An answer counts only where it tells of what was sent.
export function telling(identity, answer) {
  if (answer.document?.id === identity) return answer;
  throw new NoAnswer("the answer is about something else");
}

export const json = (document, type = "application/json") => ({
  body: JSON.stringify(document), headers: { "Content-Type": type },
});

// How far the device's clock is ahead of the service's, in ms, as last seen.
async function noteClock(answer) {
  const theirs = Date.parse(answer.headers.get("Date") ?? "");
  if (!Number.isNaN(theirs)) await keep("clockAhead", Date.now() - theirs);
}
