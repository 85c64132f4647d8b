// Opens the sheet from the device's own copy, keeps the state in sight, and turns to the screens.

import { Refused } from "./api.js";
import { button, counted, el, inTurn } from "./dom.js";
import { fetchRuntime, isFetched } from "./judge.js";
import { beginning } from "./beginning.js";
import { all, kept } from "./store.js";
import { changed, flush, isChanged, items, onQueue, WAITING } from "./queue.js";
import { device } from "./device.js";
import { home, stations, takeOne } from "./home.js";
import { outbox } from "./outbox.js";
import { CLOCK_SLIP } from "./sending.js";
import { keyKnown } from "./signing.js";
import { isKeptBack } from "./unwritten.js";
import { visit } from "./visit.js";

const EVERY = 60_000; // ms between tries to send while the sheet is open

const content = document.querySelector("#content");
const stateLine = document.querySelector("#state");
let turned = 0;
let telling = null;

const SCREENS = [
  [/^#\/visits\/([^/]+)(?:\/([^/]+))?$/, visit],
  [/^#\/begin\/([^/]+)(?:\/([^/]+))?$/, beginning],
  [/^#\/stations$/, stations],
  [/^#\/not-sent$/, outbox],
  [/^#\/device$/, device],
];

async function turn() {
  const mine = ++turned;
  try {
    await turnTo(mine);
  } catch (error) {
    if (mine !== turned) return;
    content.replaceChildren(el("h1", {}, "This screen cannot be shown"),
      el("p", { class: "told" }, `${error.message || error.name}. What is on this device stays there.`),
      button("Try again", turn));
  }
}

async function turnTo(mine) {
  const known = await kept("token");
  const address = location.hash || "#/";
  const [pattern, screen] = !known && address !== "#/not-sent"
    ? [null, device] : SCREENS.find(([each]) => each.test(address)) ?? [null, home];
  const made = el("div", { class: "screen" });
  await screen(made, ...(pattern?.exec(address)?.slice(1) ?? []));
  if (mine !== turned) return;
  content.replaceChildren(made);
  made.dispatchEvent(new Event("shown"));
  await tellState();
}

// What has to be known on every screen, above all how much is not sent yet.
const tellState = inTurn(async () => {
  const waiting = await items();
  const stuck = waiting.filter((item) => item.state !== WAITING).length;
  const begun = (await all("visits")).filter(isChanged).length;
  const open = begun ? `${counted(begun, "visit")} not handed over yet.` : "";
  const lines = [];
  if (isKeptBack()) lines.push(el("p", { class: "told" }, "Not all of what was entered is kept. Make room on this device, and leave the sheet open."));
  if (await kept("refusedToken")) {
    lines.push(el("p", { class: "told" }, "This device was signed out by the office, or its time is over. What you enter stays here: ",
      el("a", { href: "#/device" }, "come in with a new code"), "."));
  }
  if (waiting.length) {
    lines.push(el("p", {}, el("a", { href: "#/not-sent" }, `${counted(waiting.length, "entry", "entries")} not sent yet`),
      stuck ? el("strong", { class: "told" }, `, ${stuck} need you`) : "", ". ", open));
  } else if (await kept("token")) {
    lines.push(el("p", { class: "quiet" }, open || "Everything that was handed over is sent."));
  }
  const ahead = await kept("clockAhead", 0);
  if (Math.abs(ahead) >= CLOCK_SLIP) {
    lines.push(el("p", { class: "told" }, `This device’s clock is ${span(ahead)} the service’s. Times are sent corrected, with the device’s own beside them.`));
  }
  stateLine.replaceChildren(...lines);
});

function span(ahead) {
  const minutes = Math.round(Math.abs(ahead) / 60_000);
  const words = minutes < 120 ? counted(minutes, "minute") : counted(Math.round(minutes / 60), "hour");
  return `${words} ${ahead > 0 ? "ahead of" : "behind"}`;
}

async function register() {
  if (!navigator.serviceWorker) return;
  navigator.serviceWorker.addEventListener("message", ({ data }) => { if (data === "send") flush().then(changed); });
  // Where the browser wakes it when there is signal, it sends by the sheet's own modules.
  const [address, type] = "SyncManager" in globalThis ? ["/field/sw.js?module", "module"] : ["/field/sw.js", "classic"];
  const registered = await navigator.serviceWorker.register(address, { type, scope: "/field/", updateViaCache: "none" });
  const offer = () => { if (registered.waiting && navigator.serviceWorker.controller) offerNew(registered.waiting); };
  registered.addEventListener("updatefound", () => registered.installing?.addEventListener("statechange", offer));
  offer();
}

// A new version is taken up when its person says so: everything entered is on the disk already.
function offerNew(waiting) {
  if (document.querySelector("#new-version")) return;
  const made = button("Use the new version", () => take(), { id: "new-version" });
  const take = async () => {
    made.disabled = true;
    try {
      await bringAlong(waiting);
    } catch (error) {
      made.disabled = false;
      made.textContent = `Use the new version (its rules did not come: ${error.message})`;
      return;
    }
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    waiting.postMessage("use the new version");
  };
  document.querySelector("header").append(made);
}

// The rules of the new version and the stations as it judges them: without them it would judge
// nothing where there is no signal.
async function bringAlong(waiting) {
  if (!(await isFetched())) return;
  const { port1, port2 } = new MessageChannel();
  const told = new Promise((done) => { port1.onmessage = ({ data }) => done(data); });
  waiting.postMessage("tell your parts", [port2]);
  await fetchRuntime(() => {}, (await told).runtime);
  for (const { site } of await all("packs")) {
    await takeOne(site).catch((error) => { if (!(error instanceof Refused)) throw error; });
  }
}

addEventListener("hashchange", turn);
addEventListener("online", () => flush());
document.addEventListener("visibilitychange", () => { if (!document.hidden) flush().then(changed); });
// Not with each of many entries that go out one after the other.
onQueue(() => { telling ??= setTimeout(() => { telling = null; tellState(); }, 150); });
setInterval(() => flush(), EVERY);
const links = [["#/", "Visits"], ["#/not-sent", "Not sent"], ["#/device", "Device"]];
document.querySelector("nav").append(...links.map(([href, words]) => el("a", { href }, words)));
await turn();
register().catch(() => {});
keyKnown().catch(() => {}); // told where it is wanted: before signing
flush();
