// Sends each form with the secret that the browser holds now: whoever signed in anew in another tab loses nothing typed here.
"use strict";
document.addEventListener("submit", event => {
  const secret = event.target.querySelector("[name=csrfmiddlewaretoken]");
  const held = /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie);
  if (secret && held) secret.value = held[1];
});
// Whoever signs out leaves no page to Back: the one that was left is kept by the browser after it was told to forget all others.
{
  const mark = () => { try { return localStorage.getItem("signed-out"); } catch { return null; } };
  const before = mark();
  document.addEventListener("submit", event => {
    if (event.target.matches("form[data-sign-out]")) try { localStorage.setItem("signed-out", Date.now()); } catch { /* it keeps nothing */ }
  });
  addEventListener("pageshow", event => {
    if (!event.persisted || mark() === before) return;
    document.documentElement.hidden = true;
    location.reload();
  });
}
