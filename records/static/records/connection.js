// Without a connection what was typed would be lost with the form that is sent: it stays here.
"use strict";

(() => {
  const told = document.createElement("p");
  told.className = "told";
  told.setAttribute("role", "status");
  told.hidden = true;
  document.querySelector("main").prepend(told);

  const tell = (words) => {
    told.hidden = !words;
    told.textContent = words;
  };
  const look = () => tell(navigator.onLine ? ""
    : "No connection: this page is as it was when it came. What you type stays here.");
  addEventListener("online", look);
  addEventListener("offline", look);
  look();

  // A browser may be wrong: a service on this very machine is there without a network.
  const isThere = () => fetch(location.href, { method: "HEAD" }).then(() => true, () => false);
  let found = false;
  addEventListener("submit", async (event) => {
    if (navigator.onLine || found) return;
    event.preventDefault();
    const { target, submitter } = event;
    found = await isThere();
    if (found) {
      target.requestSubmit(submitter);
    } else {
      tell("Not sent: there is no connection. What you typed stays here; send it once there is one.");
      told.scrollIntoView();
    }
  });
})();
