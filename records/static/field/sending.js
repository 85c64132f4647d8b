// How each kind of item goes out: a visit, what a plate says, a file. Sent again it is the very same.

import { call, json, NoAnswer, Refused, telling } from "./api.js";
import { difference, same } from "./pointing.js";
import { withPlates } from "./pack.js";
import { change, get, kept, noted } from "./store.js";

export const CLOCK_SLIP = 5 * 60_000; // ms from which a begin is corrected
const CLOCK_KEPT = 2 * 24 * 3600_000; // ms up to which the device's own time is told as well
const TIMES = ["performed_at", "performed_until"];

export const SENDERS = { event: sendEvent, plate: sendPlate, file: sendFile, trace: sendFile, signature: sendSignature };

// -- a visit --------------------------------------------------------------------------------------

async function sendEvent(item) {
  const { sent = null } = (await get("visits", item.visit)) ?? {};
  const document = item.sending ?? await firstSent(item, sent);
  if (sent && !item.signed && onlyLater(sent.document, document)) return refresh(item.visit);
  const answer = telling(document.id, sent ? await patch(sent, document) : await post(document));
  const own = Object.fromEntries(TIMES.map((name) => [name, item.document[name]]));
  await change("visits", item.visit, (row) => ({
    ...toldNow(row, answer.document, item.signed), arrived: [...(row.arrived ?? []), item.id],
    sent: { etag: answer.etag, document, own, at: new Date().toISOString() },
  }));
}

// What the service says now. A device's signature that it had and has no more has lapsed, unless
// another one stands, or is behind what is sent.
function toldNow(row, told, signed) {
  if (signed || told.signatures.some((each) => each.device)) return { ...row, told, lapsed: null };
  const gone = row.told?.signatures.find((each) => each.device);
  return { ...row, told, lapsed: gone?.device.statement.signed_at ?? row.lapsed };
}

// The very same at another time of the clock: it would end a signature, and say nothing.
const onlyLater = (sent, document) => Object.keys(difference(sent, document)).every((name) => name === "device_time");

// Where what stands at the service is not what was signed, both are shown side by side.
async function sendSignature(item) {
  try {
    telling(item.body.id, await call("POST", `/events/${item.visit}/signatures`, json(item.body)));
  } catch (error) {
    if (error.status === 409) await withTheirs(error, item.document);
    throw error;
  }
}

// What goes out is settled before it goes out for the first time. A full device cannot keep it;
// then what arrived is known again by its content.
async function firstSent(item, sent) {
  const sending = await withClock(item.document, sent);
  await noted(change("queue", item.seq, (row) => ({ ...row, sending })));
  return sending;
}

async function post(document) {
  try {
    return await call("POST", "/events", json(document));
  } catch (error) {
    if (error.status !== 409) throw error;
    const theirs = await withTheirs(error, document);
    if (theirs && holds(theirs.document, document)) return theirs; // sent before, at another minute
    throw error;
  }
}

async function patch(sent, document) {
  const changes = difference(sent.document, document);
  try {
    return await patched(document.id, changes, sent.etag);
  } catch (error) {
    if (error.status !== 412 && error.status !== 409) throw error;
    const theirs = await withTheirs(error, document);
    if (theirs && arrived(theirs.document, document, changes)) return theirs; // its answer was lost
    if (error.status === 412 && theirs && untouched(theirs.document, sent.document, document, changes)) {
      return patched(document.id, changes, theirs.etag);
    }
    throw error;
  }
}

function patched(identity, changes, etag) {
  const asked = json(changes, "application/merge-patch+json");
  asked.headers["If-Match"] = etag;
  return call("PATCH", `/events/${identity}`, asked);
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

const holds = (theirs, ours) => Object.entries(ours)
  .every(([name, value]) => name === "device_time" || same(theirs[name], value));

const alike = (one, other, name) => name === "device_time" || same(one[name] ?? null, other[name] ?? null);

// Whether all that changes stands there as it stands here, beside whatever else was changed there.
const arrived = (theirs, ours, changes) => Object.keys(changes).every((name) => alike(theirs, ours, name));

// Whether of what changes nothing was changed there to something else: files and answers change no
// entry.
const untouched = (theirs, before, ours, changes) => Object.keys(changes)
  .every((name) => alike(theirs, before, name) || alike(theirs, ours, name));

// What a visit can hold that somebody entered. Anything else is the service's own word of it, also
// what a service newer than this program tells: it was changed by nobody.
const ENTERED = new Set(`id kind site pump_set sensors performed_at performed_until device_time replaced not_in_register
  parties isolation_confirmed permit_reference ambient_temperature liquid_temperature weather
  reading_unit_system instruments hours_run start_count energy_counter settings_file settings supply
  motor_tests earth_tests mechanical_checks rotation identification_run vessel_checks duty_points
  sensor_verifications drawdown_tests protection_tests level_tests step_tests traces attachments
  not_possible remarks corrects correction_reason`.split(/\s+/));

// Of what the service tells those fields that a device sends.
export function within(theirs, ours) {
  const own = Object.entries(theirs).filter(([name]) => name in ours || ENTERED.has(name));
  return Object.fromEntries(own);
}

// A device whose clock is wrong begins at the service's time; its own is told beside. A time that
// was sent once stays as it was sent, also after the clock was put right.
export async function withClock(document, sent) {
  const ahead = await kept("clockAhead", 0);
  const own = { ...document, device_time: offset(new Date()) };
  const wrong = Math.abs(ahead) >= CLOCK_SLIP;
  if (Math.abs(ahead) > CLOCK_KEPT) delete own.device_time;
  for (const name of TIMES.filter((each) => own[each])) {
    if (sent?.own?.[name] === own[name] && sent.document[name]) own[name] = sent.document[name];
    else if (wrong) own[name] = offset(new Date(Date.parse(own[name]) - ahead));
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

// -- what a plate says ----------------------------------------------------------------------------

// The register changes where it still says what it said on the device; else both are shown.
async function sendPlate(item) {
  const [, identity] = item.piece.split("/");
  const held = telling(identity, await call("GET", `/${item.piece}`));
  if (says(held.document, item.read)) return registered(item); // sent before
  if (![item.before, ...(item.said ?? [])].some((values) => says(held.document, { ...item.before, ...values }))) {
    const told = { detail: "somebody has changed the same in the register meanwhile" };
    throw Object.assign(new Refused(412, told), { theirs: held });
  }
  const asked = json(item.read, "application/merge-patch+json");
  asked.headers["If-Match"] = held.etag;
  try {
    telling(identity, await call("PATCH", `/${item.piece}`, asked));
  } catch (error) {
    throw error.status === 412 ? new NoAnswer("somebody changes the register right now") : error;
  }
  return registered(item);
}

// The register says it now, and so does what was taken along of it.
async function registered(item) {
  const visit = await change("visits", item.visit, (row) => ({ ...row, plates: following(row.plates, item) }));
  await change("packs", visit?.site ?? "", (row) => ({ ...row, pack: withPlates(row.pack, { [item.piece]: item }) }));
}

// What a plate says beyond what was sent of it: it may have been entered anew meanwhile.
function following(plates, item) {
  const { [item.piece]: plate, ...others } = plates ?? {};
  if (!plate) return others;
  const [before, said] = [{ ...plate.before, ...item.read }, { ...item.before, ...plate.read }];
  const names = Object.keys(said).filter((name) => !same(said[name], before[name]));
  const only = (values) => Object.fromEntries(names.map((name) => [name, values[name]]));
  return names.length ? { ...others, [item.piece]: { ...plate, read: only(said), before: only(before) } } : others;
}

const says = (document, values) =>
  Object.entries(values).every(([name, value]) => same(document[name] ?? null, value ?? null));

// -- files ----------------------------------------------------------------------------------------

async function sendFile(item) {
  const file = await get("files", item.id);
  if (file?.sent) return; // its item was still to be removed when the device went off
  if (!file?.blob) throw new Error("the file is not on this device any more");
  const query = new URLSearchParams({ name: file.name, id: file.id });
  const trace = item.kind === "trace";
  if (!trace) {
    query.set("purpose", file.purpose);
    query.set("sha256", file.sha256);
  }
  const type = { "Content-Type": trace ? "text/csv" : "application/octet-stream" };
  const path = `/events/${item.visit}/${trace ? "traces" : "attachments"}?${query}`;
  telling(file.id, await call("POST", path, { body: file.blob, headers: type }));
  // The service has it: its bytes make room.
  await change("files", file.id, ({ blob, ...row }) => ({ ...row, size: blob?.size, sent: true }));
}

// What the service says now.
export async function refresh(visit) {
  const answer = telling(visit, await call("GET", `/events/${visit}`));
  await change("visits", visit, (row) => ({
    ...toldNow(row, answer.document), sent: { ...row.sent, etag: answer.etag },
  }));
}
