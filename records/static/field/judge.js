// The judge: a worker that runs the service's own rules. While it is not there, all waits.

const LOADING = "loading", READY = "ready", NONE = "none";

let worker = null;
let state = { is: NONE, why: "not started yet" };
let asked = new Map();
let number = 0;
const listeners = new Set();

export const judging = () => state;
export const onJudging = (listener) => { listeners.add(listener); return () => listeners.delete(listener); };

function become(next) {
  state = next;
  for (const listener of listeners) listener(state);
}

export const parts = async () => (await fetch("/field/parts.json")).json();

// Fetches what judging needs, once, and checks each file against its digest.
export async function fetchRuntime(progress = () => {}, given = null) {
  const runtime = given ?? (await parts()).runtime;
  const cache = await caches.open(`field-runtime-${runtime.version}`);
  const files = Object.entries(runtime.files);
  let done = 0;
  for (const [address, digest] of files) {
    if (!(await cache.match(address))) await fetchChecked(cache, address, digest);
    progress(++done, files.length);
  }
  return runtime;
}

// From an older copy on the device where that has the same bytes, else from the service: the query
// leads past the copy.
async function fetchChecked(cache, address, digest) {
  const older = await caches.match(address);
  if (older && (await digestOf(older)) === digest) return cache.put(address, older);
  const answer = await fetch(`${address}?${digest}`, { credentials: "omit" });
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
  if ((await digestOf(answer)) !== digest) throw new Error(`${address}: other bytes than expected`);
  return cache.put(address, answer);
}

async function digestOf(answer) {
  const content = await answer.clone().arrayBuffer();
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", content));
  return [...hash].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function isFetched() {
  try {
    const { runtime } = await parts();
    const cache = await caches.open(`field-runtime-${runtime.version}`);
    const found = await Promise.all(Object.keys(runtime.files).map((each) => cache.match(each)));
    return found.every(Boolean);
  } catch {
    return false;
  }
}

export async function startJudging() {
  if (worker || state.is === LOADING) return; // two of them would take twice the memory
  if (typeof WebAssembly !== "object") {
    become({ is: NONE, why: "this browser cannot run the rules" });
    return;
  }
  become({ is: LOADING, why: "the rules are being loaded" });
  try {
    const runtime = await fetchRuntime();
    worker = new Worker("/field/judging.js", { type: "module" });
    worker.onmessage = ({ data }) => hear(data);
    worker.onerror = () => stop("the rules could not be started on this device");
    const wheel = Object.keys(runtime.files).find((name) => name.endsWith(".whl"));
    worker.postMessage({ load: { vendor: runtime.vendor, rules: runtime.rules, wheel } });
  } catch {
    become({ is: NONE, why: "the rules are not on this device yet" });
  }
}

function stop(why) {
  worker?.terminate();
  worker = null;
  for (const { failed } of asked.values()) failed(new Error(why));
  asked = new Map();
  become({ is: NONE, why });
}

function hear(data) {
  if (data.ready) {
    become({ is: READY, version: data.ready, ms: data.ms });
  } else if (data.id === undefined) {
    stop("the rules could not be started on this device");
  } else {
    const waiting = asked.get(data.id);
    asked.delete(data.id);
    if (data.failed) waiting?.failed(new Error(data.failed));
    else waiting?.done(data.judged ?? data.text);
  }
}

// What the rules say of a document; null where they are not at hand, or not those of the pack.
// `answered` are findings (rule, subject) that the book has an answer to.
export async function judge(pack, pumpSet, event, files, answered = []) {
  if (state.is !== READY) return null;
  if (state.version !== pack.catalogue) return { outdated: true };
  return ask({ ...texts(pack, pumpSet, event), files: JSON.stringify(files), answered: JSON.stringify(answered) });
}

// The canonical text that is signed of a document; `beside` is what this device adds to it.
export async function statementText(pack, pumpSet, event, beside) {
  if (state.is !== READY) throw new Error("the rules are not at hand");
  return ask({ ...texts(pack, pumpSet, event), beside: JSON.stringify(beside) });
}

const texts = (pack, pumpSet, event) =>
  ({ pack: JSON.stringify(pack), pumpSet: pumpSet ?? "", event: JSON.stringify(event) });

function ask(message) {
  const id = ++number;
  return new Promise((done, failed) => {
    asked.set(id, { done, failed });
    worker.postMessage({ id, ...message });
  });
}
