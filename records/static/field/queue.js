// What is not sent yet. One flusher at a time; an item goes only after a clear answer.

import { NoAnswer, Refused } from "./api.js";
import { pruned, same } from "./pointing.js";
import { refresh, SENDERS, within } from "./sending.js";
import { all, change, keep, kept, noted, remove, StorageFull, transact } from "./store.js";

export const WAITING = "waiting", REFUSED = "refused", CONFLICT = "conflict";
const PAUSES = [5, 15, 60, 300]; // s between tries while there is no answer

const listeners = new Set();
let timer = null, failures = 0;

export const onQueue = (listener) => { listeners.add(listener); return () => listeners.delete(listener); };
export const changed = () => { tell(); elsewhere?.postMessage("changed"); };

// Another tab, or the worker that sends without one, changes the same queue. Where the browser has
// no channel, or denies it, the sheet opens all the same.
const elsewhere = channel();
const tell = () => { for (const listener of listeners) listener(); };
if (elsewhere) elsewhere.onmessage = tell;

function channel() {
  try {
    return new BroadcastChannel("field-queue");
  } catch {
    return null;
  }
}

export const items = async () => (await all("queue")).sort((a, b) => a.seq - b.seq);

// Puts the visit in the queue as `document` says it, with its plates and files that are not in it;
// durable once it is done. Rows are read where they are written: another tab may send meanwhile.
// Where it is `signed`, it goes out as it was signed, and the signature last; one of another version
// is dropped, and the visit says so.
export async function hand(visit, document, signed) {
  const given = { visit: visit.id, state: WAITING, tries: 0, at: new Date().toISOString() };
  await transact(["queue", "visits", "files"], "readwrite", (at) => {
    at.visits.get(visit.id).onsuccess = ({ target: { result: row = visit } }) => {
      at.queue.getAll().onsuccess = ({ target }) => {
        const own = target.result.filter((item) => item.visit === visit.id);
        const ended = (item) => (item.kind === "signature" ? signed || !same(item.document, document)
          : overtaken(item, visit.id, row.plates));
        const over = own.filter(ended);
        for (const item of over) at.queue.delete(item.seq);
        for (const [piece, { read, before, handed }] of Object.entries(row.plates ?? {})) {
          const said = own.filter((item) => item.piece === piece).map((item) => item.read); // of which some may have arrived
          if (!handed) at.queue.add({ ...given, id: crypto.randomUUID(), kind: "plate", piece, read, before, said });
        }
        at.queue.add({ ...given, id: crypto.randomUUID(), kind: "event", document,
          ...(signed && { signed: true, sending: signed.sending }) });
        at.visits.put({ ...row, handed: document, opened: false, plates: handedOver(row.plates),
          lapsed: signed ? null : signedAt(over) ?? row.lapsed });
        at.files.getAll().onsuccess = ({ target: { result } }) => { // behind their visit
          for (const file of result.filter((each) => each.visit === visit.id && !each.handed)) {
            at.queue.add({ ...given, id: file.id, kind: file.kind });
            at.files.put({ ...file, handed: true });
          }
          if (signed) at.queue.add({ ...given, id: signed.body.id, kind: "signature", document, body: signed.body });
        };
      };
    };
  });
  changed();
  askForSync();
}

const signedAt = (given) => given.find((item) => item.kind === "signature")?.body.device.statement.signed_at;

const handedOver = (plates = {}) =>
  Object.fromEntries(Object.entries(plates).map(([piece, plate]) => [piece, { ...plate, handed: true }]));

// An entry of which nothing was taken, and what a plate was thought to say before.
const overtaken = (item, visit, plates = {}) => item.visit === visit && (item.kind === "plate"
  ? !plates[item.piece]?.handed : item.kind === "event" && item.state === REFUSED);

async function askForSync() {
  try {
    await (await navigator.serviceWorker?.ready)?.sync?.register("send");
  } catch { /* where the browser has none, opening and the timer send */ }
}

// Sends what waits, in order; what one visit is refused holds back that visit alone. What fails on
// the device itself is said, and tried again by the timer.
export async function flush(wait = false) {
  try {
    await underLock(wait);
  } catch (error) {
    await keep("lastTry", { at: new Date().toISOString(), words: error.message }).catch(() => {});
  }
}

// For whoever has no screen: sends, unless a screen does, and says whether something still waits.
export async function sendWaiting() {
  await flush();
  return (await items()).some((item) => item.state === WAITING);
}

function underLock(wait) {
  return navigator.locks.request("field-queue", { ifAvailable: wait !== true }, async (lock) => {
    if (!lock || !(await kept("token"))) return;
    clearTimeout(timer);
    const tried = new Set(), held = new Set();
    let without = null; // the last one that got no answer, for reasons of its own
    for (let item; (item = await next(tried, held)); tried.add(item.seq)) {
      const outcome = await attempt(item);
      changed();
      if (outcome === "later") return;
      if (outcome !== "sent" && holds(item)) held.add(item.visit);
      if (outcome instanceof NoAnswer) without = outcome;
    }
    if (without) await again(without);
    else failures = 0;
  });
}

// Looked up each time: what is handed over meanwhile goes along. A signature is of the files as well:
// it waits for those that got no answer.
async function next(tried, without) {
  const held = new Set(without), ahead = new Set();
  for (const item of await items()) {
    if (item.state !== WAITING && holds(item)) held.add(item.visit);
    if (item.state !== WAITING) continue;
    const goes = !held.has(item.visit) && !(item.kind === "signature" && ahead.has(item.visit));
    if (goes && !tried.has(item.seq)) return item;
    ahead.add(item.visit);
  }
  return null;
}

// Files go to a visit that is there; a file or plate that is refused keeps nothing else back.
const holds = (item) => item.kind === "event";

async function attempt(item) {
  try {
    await noted(change("queue", item.seq, (row) => ({ ...row, tries: row.tries + 1 })));
    await SENDERS[item.kind](item);
    await noted(keep("refusedToken", false));
    await remove("queue", item.seq);
    await refreshed(item);
    return "sent";
  } catch (error) {
    return failed(item, error);
  }
}

// A file or plate may have settled a finding. What its visit says now can wait.
async function refreshed(item) {
  if (item.kind === "event" || (await items()).some((each) => each.visit === item.visit)) return;
  try {
    await refresh(item.visit);
  } catch (error) {
    if (!(error instanceof NoAnswer || error instanceof Refused || error instanceof StorageFull)) throw error;
  }
}

async function failed(item, error) {
  if (error instanceof NoAnswer && error.alone) return error;
  if (error instanceof NoAnswer || error instanceof StorageFull) return again(error);
  if (error.status === 401) {
    await noted(keep("refusedToken", true));
    return "later";
  }
  const state = error.theirs ? CONFLICT : REFUSED;
  const problem = error instanceof Refused ? { ...error.problem, status: error.status }
    : { detail: `this device could not send it (${error.message})` };
  await noted(change("queue", item.seq, (row) => ({ ...row, state, problem, theirs: error.theirs })));
  return "held";
}

async function again(error) {
  const pause = PAUSES[Math.min(failures++, PAUSES.length - 1)];
  timer = setTimeout(() => flush(), Math.max(pause, error.after ?? 0) * 1000);
  await noted(keep("lastTry", { at: new Date().toISOString(), words: error.message }));
  return "later";
}

// -- what was refused -----------------------------------------------------------------------------

export async function tryAgain(seq) {
  await change("queue", seq, waitingAgain);
  changed();
  return flush();
}

const waitingAgain = (row) => ({
  ...row, state: WAITING, problem: null, theirs: null, sending: row.signed ? row.sending : null });

// Of two versions: ours goes over theirs, knowingly; or theirs stays, and all of ours is put aside.
export async function settle(item, mine) {
  const { theirs } = item;
  const at = new Date().toISOString();
  await transact(["queue", "visits"], "readwrite", (stores) => {
    stores.queue.getAll().onsuccess = ({ target: { result: listed } }) => {
      const over = listed.filter((each) => !mine && each.visit === item.visit && ["event", "signature"].includes(each.kind));
      for (const each of over) stores.queue.delete(each.seq);
      for (const each of listed) if (mine && each.seq === item.seq) stores.queue.put(waitingAgain(each));
      stores.visits.get(item.visit).onsuccess = ({ target: { result: row } }) => {
        if (!row) return;
        const before = within(theirs.document, item.document);
        const sent = { etag: theirs.etag, document: structuredClone(before), at }; // not what is entered next
        const now = { ...row, sent, told: theirs.document, lapsed: signedAt(over) ?? row.lapsed };
        const aside = [...(row.aside ?? []), { at, document: row.document }];
        stores.visits.put(mine ? now : { ...now, aside, document: structuredClone(before), handed: before, changed: at });
      };
    };
  });
  changed();
  return flush();
}

// Of a piece of the register: what was read on site goes over what stands there now, or is let go.
export async function settlePlate(item, mine) {
  if (!mine) {
    await change("visits", item.visit, ({ plates: { [item.piece]: _, ...others } = {}, ...row }) => ({ ...row, plates: others }));
    return takeBack(item);
  }
  await change("queue", item.seq, (row) => ({ ...waitingAgain(row),
    before: Object.fromEntries(Object.keys(row.read).map((name) => [name, row.theirs.document[name] ?? null])) }));
  changed();
  return flush();
}

// Takes an item out, but not what was entered: the visit stays on the device.
export async function takeBack(item) {
  await remove("queue", item.seq);
  changed();
  return flush();
}

// What the service refused of a visit as it was handed over last.
export async function problemsOf(visit) {
  const refused = (await items()).filter((item) => item.kind === "event" && overtaken(item, visit));
  return refused.flatMap(({ problem }) => problem?.errors ?? []);
}

// Whether something was entered since the visit was handed over, if ever.
export const isChanged = (visit) => !visit.handed || !same(visit.handed, pruned(visit.document))
  || Object.values(visit.plates ?? {}).some((plate) => !plate.handed);

// Visits with something that the service does not have.
export async function unsent() {
  const waiting = new Set((await items()).map((item) => item.visit));
  const files = new Set((await all("files")).filter((file) => !file.sent).map((file) => file.visit));
  return new Set((await all("visits")).filter((visit) => waiting.has(visit.id) || files.has(visit.id)
    || isChanged(visit)).map((visit) => visit.id));
}
