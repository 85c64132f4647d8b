// Stations that were taken along, and visits on this device.

import { call, NoAnswer, Refused } from "./api.js";
import { button, clock, counted, el, inTurn } from "./dom.js";
import { fetchRuntime, parts } from "./judge.js";
import { isHazardous, subjectOf, tagsOf } from "./pack.js";
import { all, get, keep, noted, put, remove } from "./store.js";
import { changed, isChanged, items, onQueue, unsent } from "./queue.js";
import { scanner } from "./scanner.js";
import { unwrittenOf } from "./unwritten.js";

// As people count: 2 before 10.
const inOrder = new Intl.Collator(undefined, { numeric: true }).compare;
const byName = (a, b) => inOrder(a.name, b.name) || inOrder(a.code, b.code);

export async function home(at) {
  const packs = (await all("packs")).sort((a, b) => byName(a.pack.site, b.pack.site));
  const listed = el("div");
  const draw = inTurn(async () => {
    const made = await lines(packs); // what says the same stays, and the focus in it
    if (!listed.firstChild?.isEqualNode(made)) listed.replaceChildren(made);
  });
  await draw();
  at.addEventListener("shown", () => { // what goes out meanwhile is told here, too
    const stop = onQueue(() => (at.isConnected ? draw() : stop()));
    draw();
  }, { once: true });
  at.append(el("h1", {}, "Visits on this device"), listed);
  at.append(el("h2", {}, "Stations taken along"));
  if (packs.length) at.append(toTag(packs));
  at.append(packs.length
    ? el("ul", { class: "cards" }, packs.map((kept_pack) => station(kept_pack)))
    : el("p", {}, "None yet: take tomorrow’s stations along while there is signal."),
  el("p", {}, el("a", { class: "button", href: "#/stations" }, "Take stations along")));
}

async function lines(packs) {
  const visits = (await all("visits")).sort((a, b) => b.changed.localeCompare(a.changed));
  const waiting = new Set((await items()).map((item) => item.visit));
  return visits.length
    ? el("ul", { class: "cards" }, visits.map((visit) => line(visit, packs, waiting)))
    : el("p", {}, "None yet. Choose a station below to begin one.");
}

export const REPLACES = "Once it is sealed, it replaces a sealed record";

function line(visit, packs, waiting) {
  const pack = packs.find((each) => each.site === visit.site)?.pack;
  const state = waiting.has(visit.id) ? "not sent yet" : isChanged(visit) ? "not handed over yet"
    : visit.opened ? "as it was opened from the book" : "sent";
  return el("li", {}, el("a", { href: `#/visits/${visit.id}` },
    el("strong", {}, `${subjectOf(visit, pack)}, ${pack?.site.name ?? "station not on this device"}`),
    el("span", {}, `${visit.document.kind.replaceAll("_", "-")}, begun ${clock(visit.document.performed_at)}`),
    visit.document.corrects && el("span", { class: "replacing" }, `${REPLACES}.`),
    el("span", { class: "quiet" }, state)));
}

function station({ site, pack, at }) {
  return el("li", {}, el("a", { href: `#/begin/${site}` }, el("strong", {}, pack.site.name),
    el("span", {}, `${counted(pack.pump_sets.length, "pump set")}, ${counted(pack.sensors.length, "transmitter")}`),
    isHazardous(pack) && el("span", { class: "told" }, "Hazardous area: no telephone in the wet well"),
    el("span", { class: "quiet" }, `taken along ${clock(at)}`)));
}

// From the code on a label, or the tag as typed, to the station that has it.
function toTag(packs) {
  const said = el("div", { role: "status" });
  const input = el("input", { id: "tag", autocomplete: "off", autocapitalize: "characters" });
  const to = ({ site, tag }) => `#/begin/${site}/${encodeURIComponent(tag)}`;
  const go = (typed, of) => {
    const found = tagged(packs, typed, of);
    if (found.length === 1) location.hash = to(found[0]);
    else said.replaceChildren(...(found.length ? several(found) : [unknown(packs, typed, of)]));
  };
  const several = (found) => [el("p", {}, "More than one station on this device has this tag:"),
    el("ul", { class: "cards" }, found.map((each) => el("li", {}, el("a", { href: to(each) }, el("strong", {}, each.name)))))];
  const fromLabel = (text) => {
    const [, site, tag] = /\/stations\/([^/]+)\/tags\/([^?#]+)/.exec(text) ?? [];
    if (site) go(decodeURIComponent(tag), site);
    else go(text);
  };
  const submit = (event) => { event.preventDefault(); go(input.value); };
  return el("form", { class: "plain row", onsubmit: submit }, scanner(fromLabel),
    el("label", { for: "tag" }, "Tag on the label"), input, el("button", {}, "Open"), said);
}

// Where a tag stands on this device; a label names its station, what is typed does not.
function tagged(packs, typed, of) {
  const plain = (tag) => tag.replace(/\s/g, "").toLowerCase();
  return packs.filter(({ site }) => !of || site === of).flatMap(({ site, pack }) => {
    const tag = tagsOf(pack).find((each) => plain(each) === plain(typed));
    return tag ? [{ site, tag, name: pack.site.name }] : [];
  });
}

function unknown(packs, typed, of) {
  const here = packs.find(({ site }) => site === of);
  const where = here ? `${here.pack.site.name} has no tag ${typed}, as it was taken along.`
    : of ? `This label (${typed}) is of a station that is not on this device.` : `No station on this device has the tag ${typed}.`;
  return el("p", {}, where);
}

// -- taking along ---------------------------------------------------------------------------------

export async function stations(at) {
  at.append(el("h1", {}, "Take stations along"));
  const said = el("p", { role: "status" }, "Asking for the list …");
  const listed = el("div");
  at.append(said, listed, el("p", {}, el("a", { href: "#/" }, "To the visits")));
  at.addEventListener("shown", async () => {
    try {
      await list(listed, said);
    } catch (error) {
      await noteSignedOut(error);
      said.textContent = error instanceof NoAnswer
        ? `${error.message}. Stations are taken along where there is signal.` : error.message;
    }
  }, { once: true });
}

// A device that was signed out says on top of every screen how it comes in again.
export async function noteSignedOut(error) {
  if (error.status !== 401) return;
  await noted(keep("refusedToken", true));
  changed();
}

async function list(listed, said) {
  const here = new Set((await all("packs")).map((each) => each.site));
  const sites = await everySite();
  const picks = sites.map((site) => el("label", { class: "pick" },
    el("input", { type: "checkbox", value: site.id, checked: here.has(site.id) }),
    el("span", {}, site.name, el("span", { class: "quiet" }, ` ${site.code}`))));
  const take = button("Take along what is ticked", () => takeAlong(listed, said, take), { class: "main" });
  listed.replaceChildren(el("fieldset", {}, el("legend", {}, "Stations"), el("div", { class: "picks tall" }, picks)), take);
  said.textContent = `${counted(sites.length, "station")}. What is not ticked is taken off this device with its visits, unless something of them is not sent yet.`;
}

async function everySite() {
  const sites = [];
  for (let path = "/sites?limit=200"; path;) {
    const { document } = await call("GET", path);
    sites.push(...document.items.filter((site) => !site.out_of_service_on));
    path = document.next ? document.next.slice(document.next.indexOf("/sites")) : null;
  }
  return sites.sort(byName);
}

async function takeAlong(listed, said, take) {
  take.disabled = true;
  const wanted = [...listed.querySelectorAll("input:checked")]; // as ticked when it was pressed
  try {
    await dropOthers(new Set(wanted.map((box) => box.value)));
    const left = [];
    for (const [index, box] of wanted.entries()) {
      const name = box.closest("label").textContent;
      await takeOne(box.value).catch((error) => { // keeps no other back
        if (!(error instanceof Refused) || error.status === 401) throw error;
        left.push(`${name} (${error.message})`);
      });
      said.textContent = `${index + 1} of ${counted(wanted.length, "station")} taken along`;
    }
    await fetchRuntime((part, of) => { said.textContent = `Stations are here. Rules: ${part} of ${of} parts`; });
    said.textContent = "The sheet itself is being kept …";
    await sheetKept();
    await keep("takenWith", (await parts()).runtime.version);
    said.textContent = left.length ? `Not taken along: ${left.join("; ")}. The rest is on this device.`
      : "All of it is on this device. You can go where there is no signal.";
  } catch (error) {
    await noteSignedOut(error);
    said.textContent = `Not all of it came: ${error.message}. Try again before you leave.`;
  }
  take.disabled = false;
}

// The sheet opens without signal only once its own copy is whole.
async function sheetKept() {
  if (!navigator.serviceWorker) throw new Error("this browser cannot open the sheet without signal");
  await navigator.serviceWorker.ready;
}

export async function takeOne(site) {
  const before = await get("packs", site);
  const headers = before?.etag ? { "If-None-Match": before.etag } : {};
  const answer = await call("GET", `/sites/${site}/visit-pack`, { headers });
  const at = new Date().toISOString();
  if (answer.status === 304) return put("packs", { ...before, at });
  const { rules, ...pack } = answer.document; // of the rules their names: the rest comes with them
  pack.titles = Object.fromEntries(rules.map(({ id, title }) => [id, title]));
  return put("packs", { site, pack, etag: answer.etag, at });
}

async function dropOthers(wanted) {
  const [visits, open] = [await all("visits"), await unsent()];
  const isBusy = ({ id }) => open.has(id) || unwrittenOf(id).size > 0;
  const busy = new Set(visits.filter(isBusy).map((visit) => visit.site));
  const leave = (site) => !wanted.has(site) && !busy.has(site);
  for (const file of await all("files")) {
    if (leave(visits.find((visit) => visit.id === file.visit)?.site)) await remove("files", file.id);
  }
  for (const visit of visits) if (leave(visit.site)) await remove("visits", visit.id);
  for (const { site } of await all("packs")) if (leave(site)) await remove("packs", site);
}

