// Coming in with the office's one-time code, and going out: then nothing stays on the device.

import { call, json, NoAnswer } from "./api.js";
import { button, counted, el, goTo } from "./dom.js";
import { fetchRuntime, isFetched } from "./judge.js";
import { unsent } from "./queue.js";
import { scanner } from "./scanner.js";
import { keyKnown } from "./signing.js";
import { keepAll, kept, wipe } from "./store.js";
import { forgetUnwritten } from "./unwritten.js";

export async function device(at) {
  const me = await kept("me");
  at.append(el("h1", {}, me ? "This device" : "Let this device in"));
  if (me) await known(at, me);
  if (!me || (await kept("refusedToken"))) entrance(at);
}

async function known(at, me) {
  at.append(
    el("dl", { class: "pairs" },
      pair("Acts for", `${me.name}, ${me.organization}`),
      pair("Called", (await kept("deviceName")) ?? ""),
      pair("Signs with key", await keyWords()),
      pair("Room on the device", await room())));
  await judgingParts(at);
  at.append(el("h2", {}, "Sign out"),
    el("p", {}, "Takes stations, visits, photographs and the token off this device. A lost device is signed out by the office, on its page of people."),
    button("Sign out and wipe this device", () => leave(at), { class: "grave" }));
}

const pair = (term, words) => el("div", {}, el("dt", {}, term), el("dd", {}, words));

async function keyWords() {
  const key = await kept("signingKey");
  return key?.known ? key.jwk.kid : "none that the service knows: this device cannot sign without signal";
}

async function room() {
  const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  const kept_for_good = await navigator.storage?.persisted?.();
  const mega = (bytes) => `${Math.round(bytes / 1e6)} MB`;
  const words = kept_for_good ? "the browser keeps it" : "the browser may clear it when room is short";
  return quota ? `${mega(usage)} used of ${mega(quota)}; ${words}` : "not told by this browser";
}

async function judgingParts(at) {
  const line = el("p", {}, (await isFetched())
    ? "The rules are on this device: contradictions show without signal."
    : "The rules are not on this device yet: without them all you enter waits for signal.");
  const get = button("Fetch the rules now (about 7 MB over the network)", async () => {
    try {
      await fetchRuntime((done, of) => { line.textContent = `Fetching the rules: ${done} of ${of} parts`; });
      line.textContent = "The rules are on this device: contradictions show without signal.";
      get.remove();
    } catch (error) {
      line.textContent = `The rules could not be fetched: ${error.message}`;
    }
  });
  at.append(el("h2", {}, "Judging without signal"), line, (await isFetched()) ? "" : get);
}

function entrance(at) {
  const code = el("input", { id: "code", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", required: true });
  const name = el("input", { id: "device-name", maxlength: "100", required: true, value: "Telephone" });
  const said = el("p", { class: "told", role: "alert" });
  const enter = el("button", {}, "Come in");
  const come = async (event) => {
    event.preventDefault();
    if (enter.disabled) return; // a code works once, however often it is touched
    enter.disabled = true;
    said.textContent = "";
    try {
      await enrol(code.value, name.value);
      if (enter.isConnected) goTo("#/");
    } catch (error) {
      said.textContent = error instanceof NoAnswer ? `${error.message}: come in where there is signal.` : error.message;
      enter.disabled = false;
    }
  };
  at.append(el("form", { class: "plain", onsubmit: come },
    el("p", {}, "The office, or you yourself on the page Tokens, makes a code: it works once, and for ten minutes."),
    scanner((text) => {
      said.textContent = "";
      try {
        code.value = codeIn(text);
      } catch {
        said.textContent = "This picture is no code for a device of this service.";
      }
    }),
    el("p", {}, el("label", { for: "code" }, "Code"), code),
    el("p", {}, el("label", { for: "device-name" }, "Name of this device"), name),
    said, enter));
}

// A code is for the service that shows it alone.
function codeIn(text) {
  const given = JSON.parse(text);
  if (given.stationbook !== 1 || given.address !== location.origin) throw new Error("not for here");
  return given.code;
}

let token = null; // that a code has brought: a code works once, also where the next answer is lost

async function enrol(code, name) {
  token ??= (await call("POST", "/enrolments", { ...json({ code, name }), token: "" })).document?.token;
  const { user, organization } = (await whoCame()).document;
  const other = await kept("me");
  if (other && other.id !== user.id) {
    if ((await unsent()).size) throw new Error("Entries of another person are on this device: save them as a file and sign out first.");
    await wipe();
  }
  const me = { ...user, organization: organization.name };
  await keepAll({ token, me, deviceName: name, refusedToken: false, signingKey: null }); // each token has a key of its own
  token = null;
  await keyKnown().catch(() => {});
  await navigator.storage?.persist?.();
}

async function whoCame() {
  try {
    return await call("GET", "/me", { token });
  } catch (error) {
    if (!(error instanceof NoAnswer)) token = null; // it is good for nothing
    throw error;
  }
}

async function leave(at) {
  const waiting = (await unsent()).size;
  const words = waiting
    ? `Of ${counted(waiting, "visit")} not everything is sent. It is lost if you go on; on the page Not sent you can save it as a file.`
    : "Everything here is taken off this device.";
  const sure = el("div", { class: "caution", role: "alertdialog", "aria-label": "Sign out" }, el("p", {}, words),
    button("Wipe this device now", async () => {
      await wipe();
      forgetUnwritten();
      location.hash = "#/";
      location.reload();
    }, { class: "grave" }),
    button("Go back", () => sure.remove()));
  at.append(sure);
  sure.querySelector("button").focus();
}
