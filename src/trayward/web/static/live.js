// The page as the book is now: every element with an id and data-live is replaced when the book has moved.

import { steadily } from "./steady.js";

const EVERY_MS = 5000; // where events do not come through
const STALE_MS = 300000; // time passes too: what is due changes without a word
const page = document.body;

let version = page.dataset.version;
let source = null;
let failures = 0;
let asking = false;
let again = false;
let refreshed = Date.now();
const lost = document.getElementById("connection");

export function begin() {
  if (!("livePage" in page.dataset)) return;
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
  addEventListener("pagehide", close);
  addEventListener("pageshow", (event) => event.persisted && (open(), refresh()));
  addEventListener("online", () => (open(), refresh()));
  addEventListener("offline", () => say(false));
  addEventListener("trayward:refresh", refresh);
  setInterval(() => !document.hidden && Date.now() - refreshed > STALE_MS && refresh(), 30000);
  if (!document.hidden) open();
}

function open() {
  if (source) return;
  if (!("EventSource" in window) || failures > 3) {
    source = poll();
    return;
  }
  const events = new EventSource("/live");
  source = events;
  events.onmessage = (event) => {
    failures = 0;
    say(true);
    heard(event.data);
  };
  events.onerror = () => {
    // Turned away, not cut off: whoever was logged out has a signal all the same.
    if (events.readyState === EventSource.CLOSED) {
      close();
      source = poll();
      return;
    }
    say(false);
    if (++failures > 3) {
      close();
      open();
    }
  };
}

function poll() {
  const hear = async () => {
    try {
      const answer = await fetch("/live/now", { headers: { accept: "application/json" } });
      say(answer.ok, answer.status === 401 ? lost?.dataset.out : lost?.dataset.lost);
      if (answer.ok) heard((await answer.json()).version);
    } catch {
      say(false);
    }
  };
  const timer = setInterval(hear, EVERY_MS);
  hear();
  return { close: () => clearInterval(timer) };
}

function close() {
  source?.close();
  source = null;
}

function heard(found) {
  if (found === version) return;
  version = found;
  refresh();
}

function say(there, otherwise = lost?.dataset.lost) {
  if (!lost) return;
  const words = there ? "" : otherwise;
  if (lost.textContent !== words) lost.textContent = words;
  lost.classList.toggle("lost", !there);
}

export async function refresh() {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  try {
    const answer = await fetch(location.href, { headers: { "trayward-live": "1", accept: "text/html" } });
    // What the page is about was taken back meanwhile: the page says so itself.
    if (answer.status === 404 && !typedIn(document.querySelector("main"))) location.reload();
    if (answer.ok) put(new DOMParser().parseFromString(await answer.text(), "text/html"));
    refreshed = Date.now();
  } catch {
    say(false);
  } finally {
    asking = false;
    if (again) {
      again = false;
      refresh();
    }
  }
}

function put(fresh) {
  steadily(() => renewed(fresh));
  dispatchEvent(new CustomEvent("trayward:live"));
}

function renewed(fresh) {
  for (const old of document.querySelectorAll("[data-live][id]")) {
    const next = fresh.getElementById(old.id);
    if (!next) {
      if (!busy(old)) old.remove();
      continue;
    }
    keepOpen(old, next);
    if (old.isEqualNode(next)) continue;
    if (busy(old)) {
      old.dataset.waits = "1";
      continue;
    }
    swap(old, next);
  }
}

// Somebody types in it, or has typed: it waits until that is sent or left as it was.
function busy(element) {
  const at = document.activeElement;
  if (at && element.contains(at) && at.matches("input:not([type=hidden]), textarea, select")) return true;
  return typedIn(element);
}

export const typedIn = (element) => [...element.querySelectorAll("input, textarea, select")].some(changed);

function changed(field) {
  if (field.type === "hidden" || field.disabled) return false;
  if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
  if (field.type === "file") return field.files.length > 0;
  if (field.matches("select")) return [...field.options].some((each) => each.selected !== each.defaultSelected) && field.selectedIndex > 0;
  return field.value !== field.defaultValue;
}

function keepOpen(old, next) {
  for (const each of old.querySelectorAll("details[id][open]")) {
    next.querySelector("#" + CSS.escape(each.id))?.setAttribute("open", "");
  }
}

function swap(old, next) {
  const at = document.activeElement;
  const inside = at && at !== document.body && old.contains(at);
  const nth = inside ? [...old.querySelectorAll("a, button, summary, [tabindex]")].indexOf(at) : -1;
  const moved = document.adoptNode(next);
  old.replaceWith(moved);
  if (!inside) return;
  const same = (at.id && moved.querySelector("#" + CSS.escape(at.id))) || moved.querySelectorAll("a, button, summary, [tabindex]")[nth];
  (same || moved.closest("main"))?.focus({ preventScroll: true });
}
