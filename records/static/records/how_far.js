// How far it is, is looked at again; the rest of the page stays, and with it where the focus is.
"use strict";

(() => {
  const PATIENCE = 10_000; // ms: on a bad network a request may hang as long as nobody gives it up
  const told = document.querySelector("#how-far");
  const { address } = told.dataset; // the page's own is another one where a form came back
  const wait = () => setTimeout(look, told.dataset.seconds * 1_000);

  // A browser that cannot set a limit waits as long as it takes.
  const patience = () => (AbortSignal.timeout ? { signal: AbortSignal.timeout(PATIENCE) } : {});

  async function look() {
    try {
      const answer = await fetch(address, { cache: "no-store", ...patience() });
      if (answer.status < 500) {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const now = page.querySelector("#how-far");
        if (!now) return location.replace(address); // it is done, or somebody has to sign in
        told.replaceChildren(...now.childNodes);
      }
    } catch {
      // There is no connection, or no answer in time: it goes on without this page.
    }
    return wait();
  }
  wait();
})();
