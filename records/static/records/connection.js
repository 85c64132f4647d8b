// Without the service what was typed would be lost with the form that is sent: it stays here.
//
// Whether the service is there is decided by its own answer. A browser knows of networks alone:
// a service on this very machine is there without one, and behind a page that asks to sign in to
// a network, or a proxy that gives up, there is a network and no service.
"use strict";

(() => {
  const PATIENCE = 15_000; // ms for a first answer over a bad signal
  const SILENT = 1_500; // ms until a wait is told
  const AGAIN = 5_000; // ms between looks while there is none
  const TYPED = "input:not([type=hidden]), select, textarea"; // what is lost otherwise
  const GONE = "No connection: the service does not answer. This page is as it was when it came; what you type stays here.";
  const WAITING = "Waiting for the service to answer, to send this.";
  const NOT_SENT = "Not sent: the service does not answer. What you typed stays here; send it once there is a connection.";
  const NOT_YET = "The service answers again. What you typed here is not sent yet: send it now.";

  if (!AbortSignal.timeout) return; // an older browser sends its forms as it always did

  const told = document.createElement("p");
  told.className = "told";
  told.setAttribute("role", "status");
  told.hidden = true;
  document.querySelector("main").prepend(told);

  const tell = (words) => {
    if (told.textContent === words) return; // is not read out again
    told.hidden = !words;
    told.textContent = words;
  };

  async function answers() {
    try {
      const answer = await fetch("/healthz", {
        cache: "no-store", redirect: "error", signal: AbortSignal.timeout(PATIENCE),
      });
      return answer.ok && (await answer.text()).trim() === "ok";
    } catch {
      return false;
    }
  }

  const asking = new Set(); // forms: pressed again meanwhile, they are sent once
  let isKept = false; // a form that was not sent
  let next = 0, looks = 0;
  async function look() {
    const mine = ++looks;
    clearTimeout(next);
    const there = await answers();
    if (mine !== looks) return; // a later look tells what is so by now
    const [back, away] = isKept ? [NOT_YET, NOT_SENT] : ["", GONE];
    if (!asking.size) tell(there ? back : away);
    if (!there || !navigator.onLine) { // an answer may be the last one before a network goes
      clearTimeout(next);
      next = setTimeout(look, AGAIN);
    }
  }
  addEventListener("offline", look);
  addEventListener("online", () => told.hidden || look());
  if (!navigator.onLine) look();

  let sure = false;
  addEventListener("submit", async (event) => {
    const { target, submitter } = event;
    if (target.method !== "post" || event.defaultPrevented || sure) return;
    if (!target.querySelector(TYPED)) return;
    event.preventDefault();
    if (asking.has(target)) return;
    asking.add(target);
    const waiting = setTimeout(() => tell(WAITING), SILENT);
    const there = await answers();
    clearTimeout(waiting);
    asking.delete(target);
    isKept = !there;
    if (there) {
      tell("");
      sure = true;
      target.requestSubmit(submitter); // comes here again, before the next line
      sure = false;
    } else {
      tell(NOT_SENT);
      told.scrollIntoView();
      look();
    }
  });
})();
