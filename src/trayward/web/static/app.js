// What every page does: live parts, one sending of a form at a time, the word after an act, what was wrong in view.

import { begin } from "./live.js";
import { cannot, words } from "./marks.js";
import { begin as keepPages } from "./nosignal.js";
import { begin as keepAnswers } from "./queue.js";
import { begin as keepSteady } from "./steady.js";

begin();
keepSteady();
keepAnswers();
keepPages();

// A form is sent once: a second tap while it is on its way does nothing.
const sending = new WeakSet();
// Another program may be writing to the book: it is waited for, half a minute at most, and that is said.
const SLOW_MS = 2500;
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post" || form.matches("[data-send]")) return;
  if (sending.has(form)) {
    event.preventDefault();
    return;
  }
  sending.add(form);
  setTimeout(() => sending.has(form) && cannot(words("book-busy")), SLOW_MS);
});
addEventListener("pageshow", (event) => {
  if (event.persisted) for (const form of document.forms) sending.delete(form);
});

// A choice that shows at once: <select data-go> or a radio in <form data-go> sends its form.
document.addEventListener("change", (event) => {
  if (event.target.closest("[data-go]")) event.target.form?.requestSubmit();
});

// Undo stays for a while, then the book is the place.
for (const form of document.querySelectorAll("form[data-undo]")) {
  setTimeout(() => {
    if (!form.contains(document.activeElement)) form.remove();
  }, 1000 * Number(form.dataset.undo));
}

// Keep what was wrong where eyes and screen readers begin.
document.querySelector("section.fault")?.focus();
