// A phone that is handed on: a page left open goes to the lock once the phone is locked, and stays open while it is used.

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
    if (answer.status === 401 && !halfTyped()) location.replace("/lock?next=" + encodeURIComponent(location.pathname + location.search));
  } catch {
    // No signal: the page is needed all the same, and nothing is sent without somebody's PIN.
  }
}

// What is half typed is not thrown away: the page stays, and what it sends waits for a PIN.
function halfTyped() {
  return [...document.querySelectorAll("main input:not([type=hidden]), main textarea")].some(
    (field) => !field.disabled && field.type !== "checkbox" && field.type !== "radio" && field.value !== field.defaultValue,
  );
}

if (document.body.dataset.who) {
  setInterval(look, EVERY_MS);
  document.addEventListener("visibilitychange", look);
}
