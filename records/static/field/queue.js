// What is not sent yet. One flusher at a time; an item goes only after a clear answer.

import { call, json, NoAnswer, Refused } from "./api.js";
import { difference, same } from "./pointing.js";
import { all, change, get, keep, kept, put, remove, transact } from "./store.js";

export const WAITING = "waiting", REFUSED = "refused", CONFLICT = "conflict";
const PAUSES = [5, 15, 60, 300]; // s between tries while there is no answer
const CLOCK_SLIP = 5 * 60_000; // ms from which a begin is corrected
const CLOCK_KEPT = 2 * 24 * 3600_000; // ms up to which the device's own time is told as well

const listeners = new Set();
let timer = null, failures = 0;

export const onQueue = (listener) => { listeners.add(listener); return () => listeners.delete(listener); };
const changed = () => { for (const listener of listeners) listener(); };

export const items = async () => (await all("queue")).sort((a, b) => a.seq - b.seq);

// Puts the visit as it stands in the queue, and those of its files that are not in it. Where it is
// `signed`, it goes out as it was signed, and the signature after it; one of another version is dropped.
export async function hand(visit, document, signed) {
  const files = (await all("files")).filter((file) => file.visit === visit.id && !file.handed);
  const overtaken = (await items()).filter((item) =>
    item.visit === visit.id && (item.kind === "signature" ? signed || !same(item.document, document)
      : item.kind === "event" && item.state === REFUSED));
  await transact(["queue", "visits", "files"], "readwrite", (at) => {
    for (const item of overtaken) at.queue.delete(item.seq); // nothing of them was taken
    const begun = { visit: visit.id, state: WAITING, tries: 0, at: new Date().toISOString() };
    at.queue.add({ ...begun, id: crypto.randomUUID(), kind: "event", document, ...(signed && { signed: true, sending: signed.sending }) });
    for (const file of files) {
      at.queue.add({ ...begun, id: file.id, kind: file.kind });
      at.files.put({ ...file, handed: true });
    }
    if (signed) at.queue.add({ ...begun, id: signed.body.id, kind: "signature", document, body: signed.body });
    at.visits.put({ ...visit, handed: document });
  });
  changed();
  askForSync();
  return flush();
}

async function askForSync() {
  try {
    await (await navigator.serviceWorker?.ready)?.sync?.register("send");
  } catch { /* where the browser has none, opening and the timer send */ }
}

// Sends what waits, in order; what one visit is refused holds back that visit alone.
export function flush(wait = false) {
  return navigator.locks.request("field-queue", { ifAvailable: wait !== true }, async (lock) => {
    if (!lock || !(await kept("token"))) return;
    clearTimeout(timer);
    const held = new Set();
    for (const item of await items()) {
      if (item.state !== WAITING) held.add(item.visit);
      if (held.has(item.visit)) continue;
      const outcome = await attempt(item);
      changed();
      if (outcome === "later") return;
      if (outcome === "held") held.add(item.visit);
    }
    failures = 0;
  });
}

async function attempt(item) {
  await change("queue", item.seq, (row) => ({ ...row, tries: row.tries + 1 }));
  try {
    await ({ event: sendEvent, signature: sendSignature }[item.kind] ?? sendFile)(item);
    await keep("refusedToken", false);
    await remove("queue", item.seq);
    return "sent";
  } catch (error) {
    if (error instanceof NoAnswer) return again(error);
    if (!(error instanceof Refused)) throw error;
    if (error.status === 401) {
      await keep("refusedToken", true);
      return "later";
    }
    const state = error.theirs ? CONFLICT : REFUSED;
    const problem = { ...error.problem, status: error.status };
    await change("queue", item.seq, (row) => ({ ...row, state, problem, theirs: error.theirs }));
    return "held";
  }
}

function again(error) {
  const pause = PAUSES[Math.min(failures++, PAUSES.length - 1)];
  timer = setTimeout(() => flush(), Math.max(pause, error.after) * 1000);
  keep("lastTry", { at: new Date().toISOString(), words: error.message });
  return "later";
}

// -- a visit --------------------------------------------------------------------------------------

async function sendEvent(item) {
  const visit = await get("visits", item.visit);
  const document = item.sending ?? await firstSent(item);
  if (visit.sent && !item.signed && onlyLater(visit.sent.document, document)) return;
  const answer = visit.sent ? await patch(visit, document) : await post(document);
  await change("visits", item.visit, (row) => ({
    ...row, told: answer.document,
    sent: { etag: answer.etag, document, at: new Date().toISOString() },
  }));
}

// The very same at another time of the clock: it would end a signature, and say nothing.
const onlyLater = (sent, document) => Object.keys(difference(sent, document)).every((name) => name === "device_time");

// What goes out is settled before it goes out for the first time: sent again it is the very same.
async function firstSent(item) {
  const sending = await withClock(item.document);
  await change("queue", item.seq, (row) => ({ ...row, sending }));
  return sending;
}

// Where what stands at the service is not what was signed, both are shown side by side.
async function sendSignature(item) {
  try {
    await call("POST", `/events/${item.visit}/signatures`, json(item.body));
  } catch (error) {
    if (error.status === 409) await withTheirs(error, item.document);
    throw error;
  }
  await refresh(item.visit);
}

async function post(document) {
  try {
    return await call("POST", "/events", json(document));
  } catch (error) {
    if (error.status === 409) await withTheirs(error, document);
    throw error;
  }
}

async function patch(visit, document) {
  const asked = json(difference(visit.sent.document, document), "application/merge-patch+json");
  asked.headers["If-Match"] = visit.sent.etag;
  try {
    return await call("PATCH", `/events/${visit.id}`, asked);
  } catch (error) {
    if (error.status !== 412 && error.status !== 409) throw error;
    const theirs = await withTheirs(error, document);
    if (theirs && holds(theirs.document, document)) return theirs; // its answer was lost
    throw error;
  }
}

// What stands there instead, so that both can be shown side by side.
async function withTheirs(error, document) {
  try {
    const theirs = await call("GET", `/events/${document.id}`);
    error.theirs = { document: theirs.document, etag: theirs.etag };
    return theirs;
  } catch (second) {
    if (second instanceof NoAnswer) throw second;
    return null;
  }
}

const holds = (theirs, ours) =>
  Object.entries(ours).every(([name, value]) => same(theirs[name], value));

// A device whose clock is wrong begins at the service's time; its own is told beside.
export async function withClock(document) {
  const ahead = await kept("clockAhead", 0);
  const own = { ...document, device_time: offset(new Date()) };
  if (Math.abs(ahead) < CLOCK_SLIP) return own;
  if (Math.abs(ahead) > CLOCK_KEPT) delete own.device_time;
  for (const name of ["performed_at", "performed_until"]) {
    if (own[name]) own[name] = offset(new Date(Date.parse(own[name]) - ahead));
  }
  return own;
}

// RFC 3339 with the device's own offset.
export function offset(date) {
  const minutes = -date.getTimezoneOffset();
  const local = new Date(date.getTime() + minutes * 60_000).toISOString().slice(0, 19);
  const two = (number) => String(Math.trunc(Math.abs(number))).padStart(2, "0");
  return `${local}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}

// -- files ----------------------------------------------------------------------------------------

async function sendFile(item) {
  const file = await get("files", item.id);
  const query = new URLSearchParams({ name: file.name, id: file.id });
  if (item.kind === "trace") {
    const type = { "Content-Type": "text/csv" };
    await call("POST", `/events/${item.visit}/traces?${query}`, { body: file.blob, headers: type });
  } else {
    query.set("purpose", file.purpose);
    query.set("sha256", file.sha256);
    const type = { "Content-Type": "application/octet-stream" };
    const sent = { body: file.blob, headers: type };
    await call("POST", `/events/${item.visit}/attachments?${query}`, sent);
  }
  await change("files", file.id, (row) => ({ ...row, sent: true }));
  await refresh(item.visit);
}

// What the service says now; a file may have settled a finding.
export async function refresh(visit) {
  const answer = await call("GET", `/events/${visit}`);
  await change("visits", visit, (row) => ({
    ...row, told: answer.document, sent: { ...row.sent, etag: answer.etag },
  }));
}

// -- what was refused -----------------------------------------------------------------------------

export async function tryAgain(seq) {
  await change("queue", seq, (row) => ({
    ...row, state: WAITING, problem: null, theirs: null, sending: row.signed ? row.sending : null }));
  changed();
  return flush();
}

// Of two versions: ours goes over theirs, knowingly; or theirs stays, and ours is put aside.
export async function settle(item, mine) {
  const theirs = item.theirs;
  await change("visits", item.visit, (row) => {
    const before = within(theirs.document, item.document);
    const sent = { etag: theirs.etag, document: before, at: new Date().toISOString() };
    if (mine) return { ...row, sent };
    return { ...row, sent, told: theirs.document, aside: row.document, document: before };
  });
  if (mine) return tryAgain(item.seq);
  await remove("queue", item.seq);
  changed();
  return flush();
}

// Of what the service tells those fields that a device sends.
function within(theirs, ours) {
  const told = ["state", "revision", "received_at", "changed_at", "catalogue", "cautions",
    "deference", "derived", "findings", "not_evaluated", "limits_changed", "earlier_record",
    "signatures", "snapshot", "withdrawal", "record"];
  const own = Object.entries(theirs).filter(([name]) => name in ours || !told.includes(name));
  return Object.fromEntries(own);
}

// Takes an item out, but not what was entered: the visit stays on the device.
export async function takeBack(item) {
  await remove("queue", item.seq);
  changed();
  return flush();
}

// -- as a file ------------------------------------------------------------------------------------

const FORM = 1;

export async function exported() {
  const waiting = await items();
  const visits = new Set(waiting.map((item) => item.visit));
  const files = (await all("files")).filter((file) => visits.has(file.visit));
  const written = await Promise.all(files.map(async ({ blob, ...file }) => ({
    ...file, type: blob.type, content: await base64(blob),
  })));
  const kept_visits = (await all("visits")).filter((visit) => visits.has(visit.id));
  return new Blob([JSON.stringify({
    stationbook_field: FORM, saved_at: offset(new Date()), queue: waiting,
    visits: kept_visits, files: written,
  })], { type: "application/json" });
}

const base64 = (blob) => new Promise((done, failed) => {
  const reader = new FileReader();
  reader.onload = () => done(reader.result.split(",", 2)[1] ?? "");
  reader.onerror = () => failed(reader.error);
  reader.readAsDataURL(blob);
});

// Takes a saved queue over. Ids stay: what has arrived already arrives no second time.
export async function imported(text) {
  const given = JSON.parse(text);
  if (given.stationbook_field !== FORM) throw new Error("this is no saved queue of a field sheet");
  const here = new Set((await items()).map((item) => item.id));
  for (const { content, type, ...file } of given.files) {
    const bytes = Uint8Array.from(atob(content), (sign) => sign.charCodeAt(0));
    await put("files", { ...file, blob: new Blob([bytes], { type }) });
  }
  for (const visit of given.visits) if (!(await get("visits", visit.id))) await put("visits", visit);
  for (const { seq, ...item } of given.queue) {
    if (!here.has(item.id)) await put("queue", { ...item, state: WAITING });
  }
  changed();
  return given.queue.length;
}
