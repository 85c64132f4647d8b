// Signing on the device: with a key that it cannot give away, over exactly what it shows.

import { call, json } from "./api.js";
import { button, clock, counted, el } from "./dom.js";
import { standing } from "./found.js";
import { statementText } from "./judge.js";
import { subjectOf, withPlates } from "./pack.js";
import { pruned, same } from "./pointing.js";
import { CONFLICT, flush, hand, items } from "./queue.js";
import { offset, withClock } from "./sending.js";
import { all, keep, kept } from "./store.js";

const KINDS = {
  Ed25519: { made: { name: "Ed25519" }, used: { name: "Ed25519" }, members: ["crv", "kty", "x"] },
  ES256: { made: { name: "ECDSA", namedCurve: "P-256" }, used: { name: "ECDSA", hash: "SHA-256" },
    members: ["crv", "kty", "x", "y"] },
};

const bytes = (text) => new TextEncoder().encode(text);
const sha256 = async (text) => new Uint8Array(await crypto.subtle.digest("SHA-256", bytes(text)));
const base64url = (octets) => btoa(String.fromCharCode(...new Uint8Array(octets)))
  .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

// -- the key --------------------------------------------------------------------------------------

// Makes the key once, and lets the service know it as soon as there is signal; of a device that may
// not sign it wants none.
export function keyKnown() {
  return navigator.locks.request("field-key", async () => {
    const held = await kept("signingKey");
    if (held?.known || !(await kept("token"))) return;
    const { may } = (await call("GET", "/me")).document;
    if (!may.includes("events.sign")) return;
    const key = held ?? (await made());
    await call("PUT", "/me/key", json({ public_key: key.jwk }));
    await keep("signingKey", { ...key, known: true });
  });
}

async function made() {
  for (const [alg, kind] of Object.entries(KINDS)) {
    try {
      const pair = await crypto.subtle.generateKey(kind.made, false, ["sign", "verify"]);
      const told = await crypto.subtle.exportKey("jwk", pair.publicKey);
      const named = Object.fromEntries(kind.members.map((name) => [name, told[name]]));
      const kid = base64url(await sha256(JSON.stringify(named))); // RFC 7638: in this order
      const key = { alg, privateKey: pair.privateKey, jwk: { ...named, alg, use: "sig", kid }, known: false };
      await keep("signingKey", key);
      return key;
    } catch (error) {
      if (error.name !== "NotSupportedError") throw error;
    }
  }
  throw new Error("this browser has no key that could sign");
}

async function signature(key, text) {
  const header = { alg: key.alg, kid: key.jwk.kid, b64: false, crit: ["b64"] };
  const protected_ = base64url(bytes(JSON.stringify(header)));
  const signed = await crypto.subtle.sign(KINDS[key.alg].used, key.privateKey, bytes(`${protected_}.${text}`));
  return `${protected_}..${base64url(signed)}`;
}

// -- the statement --------------------------------------------------------------------------------

// Shows what is signed, word by word, and signs it when its person says so.
export async function signing(sheet) {
  const at = sheet.at.querySelector(".signing");
  const mine = (sheet.signing = (sheet.signing ?? 0) + 1); // shown once, however often it is touched
  const isOver = () => mine !== sheet.signing;
  at.replaceChildren();
  const why = await hindered(sheet);
  if (isOver()) return null;
  if (why) return at.append(told(why));
  const document = await withClock(pruned(sheet.document), sheet.held.sent);
  let text;
  try {
    text = await stated(sheet, document);
  } catch (error) {
    return isOver() ? null : at.append(told(`Nothing can be signed yet: ${error.message}.`));
  }
  const digest = [...(await sha256(text))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const panel = await shownToSign(sheet, text, digest);
  if (isOver()) return null;
  at.append(...panel,
    button("Sign this, and hand it over", async ({ target }) => {
      target.disabled = true; // one signature, however often it is touched
      try {
        await sign(sheet, document, text, digest);
      } catch (error) {
        at.append(told(`Not signed: ${error.message}.`));
        target.disabled = false;
      }
    }, { class: "main" }),
    button("Not now", () => at.replaceChildren()));
  at.scrollIntoView({ block: "start" });
  return at.querySelector("h3").focus({ preventScroll: true });
}

const told = (words) => el("p", { class: "told", role: "alert" }, words);

async function hindered(sheet) {
  const found = standing(sheet);
  const key = await kept("signingKey");
  if (!key?.known) return "This device cannot sign: the service does not know its key. Open the sheet once where there is signal, on a device that came in with the right to sign.";
  if (!found || !sheet.isJudged()) return "This is not judged yet, so there is nothing to sign: wait for the rules, or sign at the office.";
  if (sheet.verdict.outdated) return "The rules have changed since this station was taken along: take it along again, then sign.";
  const two = (await items()).some((item) => item.visit === sheet.held.id && item.kind === "event" && item.state === CONFLICT);
  if (two) return "Two versions of this visit wait for your choice: settle that first, under Not sent.";
  if (found.refused.length) return "Values that cannot be taken cannot be signed: put them right first.";
  return "";
}

async function stated(sheet, document) {
  const { id, name } = await kept("me");
  const own = (await all("files")).filter((file) => file.visit === sheet.held.id);
  const beside = {
    event: document.id, by: { id, name }, key: (await kept("signingKey")).jwk.kid,
    signed_at: offset(new Date()), findings: standing(sheet).findings,
    attachments: own.filter((file) => file.kind === "file").map(({ id: file, sha256: sum }) => ({ id: file, sha256: sum })),
    traces: own.filter((file) => file.kind === "trace").map((file) => file.id),
  };
  return statementText(withPlates(sheet.pack, sheet.held.plates), sheet.held.pumpSet, document, beside);
}

async function shownToSign(sheet, text, digest) {
  const said = JSON.parse(text);
  const { waiting, lacking } = standing(sheet);
  return [
    el("h3", { tabindex: "-1" }, "What you sign"),
    el("p", {}, `I, ${said.by.name}, performed this work as it stands on this device: ${sheet.document.kind.replaceAll("_", "-")} of ${sheet.held.pumpSet ? subjectOf(sheet.held, sheet.pack) : "transmitters"}, ${sheet.pack.site.name}, signed ${clock(said.signed_at)}.`),
    el("p", {}, `With it: ${counted(said.attachments.length, "file")}, ${counted(said.traces.length, "trace")}, the nameplates as they stand on this device, and ${counted(said.findings.length, "finding")} shown:`),
    said.findings.length ? el("ul", {}, said.findings.map((each) => el("li", { class: each.severity }, each.sentence))) : el("p", {}, "None was shown. That is no approval."),
    el("p", { class: "about" }, `${waiting.length} waiting for signal and ${lacking.length} that cannot be judged are not signed: what the service finds later wants somebody’s answer.`),
    el("p", {}, "SHA-256 of the text: ", el("code", {}, digest)),
    el("details", { class: "fold" }, el("summary", {}, "The text itself"), el("p", {}, el("code", {}, text))),
  ];
}

async function sign(sheet, document, text, digest) {
  const row = await sheet.written();
  if (!row) throw new Error("not all of it could be kept on this device");
  const { device_time: _, ...now } = await withClock(pruned(row.document), row.sent);
  const { device_time: __, ...then } = document;
  if (!same(now, then)) return signing(sheet); // what is shown is no longer what stands there
  const device = { statement: JSON.parse(text), signature: await signature(await kept("signingKey"), text) };
  const body = { id: crypto.randomUUID(), meaning: "performed", digest, device };
  await hand(row, pruned(row.document), { body, sending: document });
  sheet.at.querySelector(".signing").replaceChildren(
    el("p", { role: "status" }, "Signed on this device, and handed over: it goes out as soon as there is signal."));
  sheet.at.querySelector(".handed").textContent = sheet.handedWords();
  return flush();
}

// In words, what became of this visit's signature.
export function signedWords({ told: said, lapsed }) {
  const own = (said?.signatures ?? []).filter((each) => each.device);
  return [
    ...own.map((each) => `Signed on a device ${clock(each.device.statement.signed_at)}; the service has it since ${clock(each.at)}.`),
    lapsed && `The visit was changed after it was signed ${clock(lapsed)}: that signature counts no more. Sign it anew.`,
  ].filter(Boolean).join(" ");
}
