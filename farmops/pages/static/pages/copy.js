// Copies a text with one press; without a script the text can be marked and copied by hand.
"use strict";
for (const button of document.querySelectorAll("[data-copy]")) {
  const text = button.closest("details, .copies").querySelector("textarea");
  button.hidden = false;
  button.addEventListener("click", async () => {
    text.select();
    try {
      await navigator.clipboard.writeText(text.value);
    } catch {
      document.execCommand("copy"); // over plain http browsers have no other way
    }
    button.textContent = button.dataset.done;
    button.focus(); // marking the text took the keyboard along
  });
}
