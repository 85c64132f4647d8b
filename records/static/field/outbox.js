// What is not sent yet, what stands in its way, and how it is saved where the device may die.

import { button, clock, counted, el, shown } from "./dom.js";
import { exported, flush, imported, items, onQueue, settle, takeBack, tryAgain, CONFLICT, WAITING } from "./queue.js";
import { get, kept } from "./store.js";

export async function outbox(at) {
  const listed = el("div");
  const said = el("p", { role: "status" });
  const draw = async () => listed.replaceChildren(...(await drawn(said)));
  const stop = onQueue(() => (at.isConnected ? draw() : stop()));
  at.append(el("h1", {}, "Not sent yet"), listed, said,
    el("div", { class: "onward" },
      button("Send now", async () => {
        said.textContent = "Sending …";
        await flush(true);
        const left = (await items()).length;
        said.textContent = left ? await reason() : "All of it is sent.";
      }, { class: "main" }),
      button("Save what is not sent as a file", save),
      el("p", { class: "picker" }, el("label", { for: "saved", class: "button" }, "Take over a saved file"),
        el("input", { id: "saved", type: "file", accept: ".json,application/json", onchange: (event) => takeOver(event, said) }))),
    el("p", { class: "about" }, "A saved file holds what this device could not send. Any device or computer of your office that has come in here takes it over: each entry arrives once, whoever sends it."));
  await draw();
}

async function reason() {
  const last = await kept("lastTry");
  return last ? `Not all of it: ${last.words}. It is tried again by itself.` : "Not all of it; see above.";
}

async function drawn(said) {
  const waiting = await items();
  if (!waiting.length) return [el("p", {}, "Nothing: everything that was handed over is sent.")];
  return [el("ul", { class: "cards" }, await Promise.all(waiting.map((item) => row(item, said))))];
}

async function row(item, said) {
  const visit = await get("visits", item.visit);
  const file = item.kind === "event" ? null : await get("files", item.id);
  const pack = visit && (await get("packs", visit.site))?.pack;
  const set = pack?.pump_sets.find((each) => each.pump_set.id === visit.pumpSet);
  const what = item.kind === "signature" ? "Signature" : file ? `${item.kind === "trace" ? "Trace" : "File"} ${file.name}` : "Entries";
  return el("li", {}, el("div", {},
    el("strong", {}, `${what} of ${set?.pump_set.tag ?? "a visit"}${pack ? `, ${pack.site.name}` : ""}`),
    el("span", {}, `handed over ${clock(item.at)}, ${item.tries ? `tried ${counted(item.tries, "time")}` : "not tried yet"}`),
    item.state === WAITING ? el("span", { class: "quiet" }, "waits for signal") : await trouble(item, visit, said)));
}

async function trouble(item, visit, said) {
  if (item.kind === "signature") return unsigned(item);
  const { problem } = item;
  const errors = (problem.errors ?? []).map((each) => el("li", {}, `${each.pointer}: ${each.detail}`));
  const shared = [reasonOf(problem), errors.length ? el("ul", {}, errors) : null];
  if (item.state === CONFLICT) return el("div", {}, shared, sides(item), choices(item));
  return el("div", {}, shared, el("p", {}, "Nothing of it is lost: it stays on this device."),
    visit && el("a", { class: "button", href: `#/visits/${visit.id}` }, "Put it right"),
    button("Send it again", () => tryAgain(item.seq)),
    button("Save it as a file", save));
}

// A signature is of what was shown then: of something else a new one is given, or none.
function unsigned(item) {
  const errors = item.problem.errors ?? [];
  const entered = item.theirs && errors.some((each) => each.pointer === "/device/statement/document");
  return el("div", {}, reasonOf(item.problem), el("ul", {}, errors.map((each) => el("li", {}, each.detail))),
    entered ? sides(item) : null,
    el("p", {}, "The visit itself has arrived; this signature is good for nothing else. Where nameplates, rules or limits are others now, take the station along again. Then look at the visit, and sign it anew."),
    el("div", { class: "onward" }, el("a", { class: "button", href: `#/visits/${item.visit}/found` }, "Look at the visit"),
      button("Take this signature back", () => takeBack(item)), button("Send it again", () => tryAgain(item.seq))));
}

const reasonOf = (problem) =>
  el("p", { class: "told" }, el("strong", {}, "Refused: "), problem.detail || problem.title || `status ${problem.status}`);

// Both versions beside each other, where they differ.
function sides(item) {
  const theirs = item.theirs.document;
  const names = Object.keys(item.document).filter((name) => name !== "device_time"
    && JSON.stringify(item.document[name]) !== JSON.stringify(theirs[name]));
  const flat = (value, at = "") => (value && typeof value === "object" && !("unit" in value)
    ? Object.entries(value).flatMap(([name, each]) => flat(each, at ? `${at}, ${name}` : name)) : [[at, shown(value)]]);
  const rows = names.flatMap((name) => {
    const [mine, other] = [new Map(flat({ [name]: item.document[name] })), new Map(flat({ [name]: theirs[name] ?? null }))];
    return [...new Set([...mine.keys(), ...other.keys()])].filter((key) => mine.get(key) !== other.get(key))
      .map((key) => [key, mine.get(key) ?? "–", other.get(key) ?? "–"]);
  });
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Both versions" }, el("table", {},
    el("thead", {}, el("tr", {}, ["", "On this device", "At the service"].map((words) => el("th", { scope: "col" }, words)))),
    el("tbody", {}, rows.map(([key, mine, other]) => el("tr", {}, el("th", { scope: "row" }, key.replaceAll("_", " ")), el("td", {}, mine), el("td", {}, other))))));
}

function choices(item) {
  if (item.theirs.document.state !== "draft") {
    return el("div", {}, el("p", {}, `The visit is ${item.theirs.document.state} at the service and changes no more. Yours stays here: save it, and send it to the office.`),
      button("Save it as a file", save), button("Take it out of the queue", () => takeBack(item)));
  }
  return el("div", { class: "onward" }, button("Send mine over it", () => settle(item, true)),
    button("Keep theirs; put mine aside", () => settle(item, false)));
}

async function save() {
  const link = el("a", { href: URL.createObjectURL(await exported()), download: `field-sheet-${new Date().toISOString().slice(0, 10)}.json` });
  link.click();
}

async function takeOver(event, said) {
  const [file] = event.target.files;
  event.target.value = "";
  try {
    const number = await imported(await file.text());
    said.textContent = `${counted(number, "entry", "entries")} taken over.`;
    await flush();
  } catch (error) {
    said.textContent = `This file cannot be taken over: ${error.message}`;
  }
}
