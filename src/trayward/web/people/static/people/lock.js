// A phone that is handed on: a page left open goes to the lock once the phone is locked, and stays open while it is used.

import { typedIn } from "../live.js";
import { make, words } from "../marks.js";

const EVERY_MS = 30000;
const USED_MS = 45000;
let used = 0; // when somebody touched the page last
let told = Date.now();

for (const kind of ["pointerdown", "keydown", "input"]) addEventListener(kind, () => (used = Date.now()), { passive: true });

async function look() {
  if (document.hidden || !navigator.onLine) return;
  const touched = used > told && Date.now() - told > USED_MS;
  try {
    const answer = await fetch("/me/awake", {
      method: touched ? "POST" : "GET",
      headers: { "trayward-live": "1", "trayward-script": "1", accept: "application/json" },
    });
    if (touched) told = Date.now();
    if (answer.status === 401) shut();
    else document.getElementById("logged-out")?.remove();
  } catch {
    // No signal: the page is needed all the same, and nothing is sent without somebody's PIN.
  }
}

// What is half typed is not thrown away: the page stays and says so, and what it sends goes through the log-in along.
function shut() {
  const main = document.querySelector("main");
  const refused = !("livePage" in document.body.dataset); // what was typed is there, and looks as if it had been before
  if (!refused && !typedIn(main)) location.replace("/lock?next=" + encodeURIComponent(document.body.dataset.here));
  else if (!document.getElementById("logged-out")) {
    main.prepend(make("p", { class: "working", id: "logged-out", role: "status" }, words("logged-out")));
  }
}

if (document.body.dataset.who) {
  setInterval(look, EVERY_MS);
  document.addEventListener("visibilitychange", look);
}
