// Says how far long work is to those who listen, in steps of a quarter, and keeps the focus when the page of it is
// changed to that of its end. Asking again each second is htmx's part.
"use strict";
const said = document.getElementById("said");
let held = false;

document.body.addEventListener("htmx:beforeSwap", (event) => {
  const answered = event.detail.xhr.responseURL;
  if (answered && new URL(answered).pathname !== location.pathname) {
    event.detail.shouldSwap = false; // signed out meanwhile: the page that is asked for then is a whole one
    location.reload();
    return;
  }
  const work = document.getElementById("work");
  held = work !== null && work.contains(document.activeElement);
});

document.body.addEventListener("htmx:afterSwap", () => {
  const now = document.querySelector("[data-says]");
  if (now && said.textContent !== now.dataset.says) said.textContent = now.dataset.says;
  const head = document.querySelector("#work h1");
  if (held && !document.getElementById("work").contains(document.activeElement)) head.focus();
});
