// What is not sent yet, what stands in its way, and how it is saved where the device may die.

import { button, clock, counted, el, inTurn, shown } from "./dom.js";
import { inWords } from "./found.js";
import { subjectOf } from "./pack.js";
import { same } from "./pointing.js";
import { flush, items, onQueue, settle, settlePlate, takeBack, tryAgain, CONFLICT, WAITING } from "./queue.js";
import { exported, imported } from "./saved.js";
import { get, kept } from "./store.js";

export async function outbox(at) {
  const listed = el("div");
  const said = el("p", { role: "status" });
  let isTried = false; // what came of it is told, and told anew once something else comes of it
  const draw = inTurn(async () => {
    listed.replaceChildren(...(await drawn()));
    if (isTried) said.textContent = await outcome();
  });
  at.addEventListener("shown", () => {
    const stop = onQueue(() => (at.isConnected ? draw() : stop()));
    draw();
  }, { once: true });
  at.append(el("h1", {}, "Not sent yet"), listed, said,
    el("div", { class: "onward" },
      button("Send now", async () => {
        isTried = false;
        said.textContent = "Sending …";
        await flush(true);
        isTried = true;
        await draw(); // others may have sent meanwhile
      }, { class: "main" }),
      button("Save what is not sent as a file", save),
      el("p", { class: "picker" }, el("label", { for: "saved", class: "button" }, "Take over a saved file"),
        el("input", { id: "saved", type: "file", accept: ".jsonl", onchange: (event) => takeOver(event, said) }))),
    el("p", { class: "about" }, "A saved file holds what the service does not have yet, photographs too. Any device or computer of your office that has come in here takes it over: each entry arrives once, whoever sends it."));
}

// What was refused is not tried again by itself: it says above what stands in its way.
async function outcome() {
  const left = await items();
  if (!left.length) return "All of it is sent.";
  const last = left.some((item) => item.state === WAITING) && await kept("lastTry");
  return last ? `Not all of it: ${last.words}. It is tried again by itself.` : "Not all of it; see above.";
}

async function drawn() {
  const waiting = await items();
  if (!waiting.length) return [el("p", {}, "Nothing: everything that was handed over is sent.")];
  return [el("ul", { class: "cards" }, await Promise.all(waiting.map(row)))];
}

async function row(item) {
  const visit = await get("visits", item.visit);
  const file = ["file", "trace"].includes(item.kind) ? (await get("files", item.id)) ?? { name: "that is not here" } : null;
  const pack = visit && (await get("packs", visit.site))?.pack;
  const what = item.kind === "signature" ? "Signature" : file ? `${item.kind === "trace" ? "Trace" : "File"} ${file.name}` : item.kind === "plate" ? "Nameplate" : "Entries";
  return el("li", {}, el("div", {},
    el("strong", {}, `${what} of ${visit ? subjectOf(visit, pack) : "a visit"}${pack ? `, ${pack.site.name}` : ""}`),
    el("span", {}, `handed over ${clock(item.at)}, ${item.tries ? `tried ${counted(item.tries, "time")}` : "not tried yet"}`),
    item.state === WAITING ? el("span", { class: "quiet" }, "waits for signal") : trouble(item, visit)));
}

function trouble(item, visit) {
  if (item.kind === "signature") return unsigned(item);
  const { problem } = item;
  const errors = (problem.errors ?? []).map((each) => el("li", {}, `${inWords(each.pointer)}: ${each.detail}`));
  const shared = [reasonOf(problem), errors.length ? el("ul", {}, errors) : null];
  if (item.state === CONFLICT && item.kind === "plate") {
    const theirs = Object.fromEntries(Object.keys(item.read).map((name) => [name, item.theirs.document[name]]));
    return el("div", {}, shared, sides(item.read, theirs), el("div", { class: "onward" },
      button("Put what the plate says in the register", () => settlePlate(item, true)),
      button("Leave the register as it is", () => settlePlate(item, false))));
  }
  if (item.state === CONFLICT) return el("div", {}, shared, sides(item.document, item.theirs.document), choices(item));
  return el("div", {}, shared, el("p", {}, "Nothing of it is lost: it stays on this device."),
    visit && el("a", { class: "button", href: `#/visits/${visit.id}` }, "Put it right"),
    button("Send it again", () => tryAgain(item.seq)),
    item.kind !== "event" && button("Leave it out", () => takeBack(item)),
    button("Save it as a file", save));
}

// A signature is of what was shown then: of something else a new one is given, or none.
function unsigned(item) {
  const errors = item.problem.errors ?? [];
  const entered = item.theirs && errors.some((each) => each.pointer === "/device/statement/document");
  return el("div", {}, reasonOf(item.problem), el("ul", {}, errors.map((each) => el("li", {}, each.detail))),
    entered ? sides(item.document, item.theirs.document) : null,
    el("p", {}, "The visit itself has arrived; this signature is good for nothing else. Where nameplates, rules or limits are others now, take the station along again. Then look at the visit, and sign it anew."),
    el("div", { class: "onward" }, el("a", { class: "button", href: `#/visits/${item.visit}/found` }, "Look at the visit"),
      button("Take this signature back", () => takeBack(item)), button("Send it again", () => tryAgain(item.seq))));
}

const reasonOf = (problem) =>
  el("p", { class: "told" }, el("strong", {}, "Refused: "), problem.detail || problem.title || `status ${problem.status}`);

// Both versions beside each other, where they differ.
export function sides(ours, theirs) {
  const names = Object.keys(ours).filter((name) => name !== "device_time" && !same(ours[name] ?? null, theirs[name] ?? null));
  const flat = (value, at = "") => (value && typeof value === "object" && !("unit" in value)
    ? Object.entries(value).flatMap(([name, each]) => flat(each, at ? `${at}, ${name}` : name)) : [[at, shown(value)]]);
  const rows = names.flatMap((name) => {
    const [mine, other] = [new Map(flat({ [name]: ours[name] })), new Map(flat({ [name]: theirs[name] ?? null }))];
    return [...new Set([...mine.keys(), ...other.keys()])].filter((key) => mine.get(key) !== other.get(key))
      .map((key) => [key, mine.get(key) ?? "–", other.get(key) ?? "–"]);
  });
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Both versions" }, el("table", {},
    el("thead", {}, el("tr", {}, ["", "Of this device", "Of the service"].map((words) => el("th", { scope: "col" }, words)))),
    el("tbody", {}, rows.map(([key, mine, other]) => el("tr", {}, el("th", { scope: "row" }, key.replaceAll("_", " ")), el("td", {}, mine), el("td", {}, other))))));
}

function choices(item) {
  if (item.theirs.document.state !== "draft") {
    return el("div", {}, el("p", {}, `The visit is ${item.theirs.document.state} at the service and changes no more. Yours stays here: save it, and send it to the office.`),
      el("div", { class: "onward" }, button("Save it as a file", save), button("Take it out of the queue", () => takeBack(item))));
  }
  return el("div", { class: "onward" }, button("Send mine over it", () => settle(item, true)),
    button("Keep theirs; put mine aside", () => settle(item, false)));
}

async function save() {
  const link = el("a", { href: URL.createObjectURL(await exported()), download: `field-sheet-${new Date().toISOString().slice(0, 10)}.jsonl` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

async function takeOver(event, said) {
  const [file] = event.target.files;
  event.target.value = "";
  try {
    const { visit, file: files, queue } = await imported(file);
    said.textContent = `New on this device: ${counted(visit, "visit")}, ${counted(files, "file")}, ${counted(queue, "entry", "entries")} to be sent.`;
    await flush();
  } catch (error) {
    said.textContent = `This file cannot be taken over: ${error.message}. What came before is here; the same file can be taken again.`;
  }
}
