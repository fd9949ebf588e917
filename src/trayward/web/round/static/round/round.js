// The round: the harvest pad. Plain fields work without it; it adds large keys, the total, and a gentle question.

import { MARK, doubted, grams, inUnit } from "./weights.js";

const KEPT = "trayward-pad ";
const THUMB = matchMedia("(pointer: coarse), (max-width: 64rem)");
let keys = null;
let field = null;

const fieldsOf = (pad) => [...pad.querySelectorAll(".scale input")];
const unitOf = (pad) => pad.querySelector("[data-total]").dataset.unit;
const keptAs = (pad) => `${KEPT}${document.body.dataset.who} ${pad.closest("form").dataset.row}`;

function begin() {
  for (const pad of document.querySelectorAll("[data-pad]")) {
    if (pad.dataset.begun) continue;
    pad.dataset.begun = "1";
    restore(pad);
    if (THUMB.matches) for (const each of fieldsOf(pad)) each.inputMode = "none";
    show(pad);
  }
  for (const asked of document.querySelectorAll("[data-corrective]")) weigh(asked.closest("form"));
}

// What was weighed stays on the phone until it is sent, also when the page is loaded anew.
function keep(pad) {
  const typed = Object.fromEntries(fieldsOf(pad).filter((each) => each.value).map((each) => [each.name, each.value]));
  try {
    if (Object.keys(typed).length) localStorage.setItem(keptAs(pad), JSON.stringify(typed));
    else localStorage.removeItem(keptAs(pad));
  } catch {
    // No room on the phone: the fields themselves still hold it.
  }
}

function restore(pad) {
  try {
    const typed = JSON.parse(localStorage.getItem(keptAs(pad)) ?? "{}");
    for (const each of fieldsOf(pad)) if (!each.value && typed[each.name]) each.value = typed[each.name];
  } catch {
    // Not ours to read: begin with empty fields.
  }
}

function forget(pad) {
  try {
    localStorage.removeItem(keptAs(pad));
  } catch {
    // Nothing was kept.
  }
}

function show(pad) {
  const unit = unitOf(pad);
  const weights = fieldsOf(pad).map((each) => grams(each.value, unit));
  const known = weights.filter((each) => each !== null);
  pad.querySelector("[data-total]").value = known.length ? `${inUnit(known.reduce((sum, each) => sum + each, 0), unit)} ${unit}` : "–";
  fieldsOf(pad).forEach((each, number) => ask(pad, each, weights[number], unit));
}

// The question beside a weight that looks mistyped; asked once the finger has left it.
function ask(pad, each, weight, unit) {
  const scale = each.closest(".scale");
  const words = scale.querySelector(".doubt");
  const found = weight === null || each === field ? null : doubted(weight, scale.dataset);
  if (found === null) {
    if (each !== field && !words.hidden) words.hidden = true;
    return;
  }
  const meant = found.perhaps ? " " + pad.dataset.meant.replace("{}", `${inUnit(found.perhaps, unit)} ${unit}`) : "";
  words.textContent = pad.dataset.asked.replace("{}", `${each.value} ${unit}`) + meant;
  words.hidden = false;
}

const doubts = (pad) => [...pad.querySelectorAll(".doubt:not([hidden])")];

// Keys --------------------------------------------------------------------------------------------------------------

function openKeys(pad) {
  if (!keys) {
    keys = document.createElement("div");
    keys.className = "keys";
    keys.setAttribute("role", "group");
    keys.setAttribute("aria-label", pad.dataset.keys);
    const key = (label, press, more = "", name = "") =>
      keys.append(Object.assign(document.createElement("button"), { type: "button", textContent: label, onclick: press, className: more, tabIndex: -1, ariaLabel: name || null }));
    const type = (letter) => key(letter, () => press(letter));
    for (const letter of ["1", "2", "3"]) type(letter);
    key("⌫", () => press(""), "small", pad.dataset.back);
    for (const letter of ["4", "5", "6"]) type(letter);
    key(pad.dataset.next, next, "go");
    for (const letter of ["7", "8", "9"]) type(letter);
    key(pad.dataset.close, () => field?.blur(), "small");
    for (const letter of ["0", MARK]) type(letter);
    // The field keeps the focus, so that a keyboard types on in it.
    keys.addEventListener("pointerdown", (event) => event.preventDefault());
    keys.addEventListener("mousedown", (event) => event.preventDefault());
    document.body.append(keys);
  }
  keys.hidden = false;
  document.body.classList.add("has-keys");
}

function closeKeys() {
  if (keys) keys.hidden = true;
  document.body.classList.remove("has-keys");
}

function press(letter) {
  if (!field) return;
  if (letter === MARK && /[.,]/.test(field.value)) return;
  field.value = letter ? field.value + letter : field.value.slice(0, -1);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function next() {
  const pad = field?.closest("[data-pad]");
  if (!pad) return;
  const all = fieldsOf(pad);
  const following = all[all.indexOf(field) + 1];
  if (following) following.focus();
  else {
    field.blur();
    const done = pad.querySelector('button[value="cut"]');
    done.focus({ preventScroll: true });
    done.scrollIntoView({ block: "center" });
  }
}

document.addEventListener("focusin", (event) => {
  const pad = event.target.closest?.("[data-pad]");
  if (!pad || !event.target.matches(".scale input")) return;
  field = event.target;
  if (!THUMB.matches) return;
  openKeys(pad);
  field.closest(".scale").scrollIntoView({ block: "center" });
});

document.addEventListener("focusout", (event) => {
  if (event.target !== field) return;
  const pad = field.closest("[data-pad]");
  field = null;
  closeKeys();
  // A question that appears between pressing the button and letting it go moves the button away: it asks when it is sent.
  if (pad && event.relatedTarget?.value !== "cut") show(pad);
});

document.addEventListener("input", (event) => {
  const pad = event.target.closest("[data-pad]");
  if (!pad || !event.target.matches(".scale input")) return;
  delete pad.closest("form").dataset.sure;
  const cut = pad.querySelector('button[value="cut"]');
  if (cut.dataset.words) cut.textContent = cut.dataset.words;
  show(pad);
  keep(pad);
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !event.target.matches?.("[data-pad] .scale input")) return;
  event.preventDefault();
  next();
});

// Before anything is sent, or kept to be sent: what looks mistyped is asked about, once.
addEventListener(
  "submit",
  (event) => {
    const pad = event.target.querySelector?.("[data-pad]");
    if (!pad || event.submitter?.value !== "cut") return;
    field = null;
    show(pad);
    const open = doubts(pad);
    const sure = pad.querySelector('input[name="sure"]');
    if (open.length && !event.target.dataset.sure) {
      event.preventDefault();
      event.stopImmediatePropagation();
      event.target.dataset.sure = "1";
      event.submitter.dataset.words ??= event.submitter.textContent;
      event.submitter.textContent = pad.dataset.sureWords;
      open[0].scrollIntoView({ block: "center" });
      return;
    }
    if (open.length && !sure) pad.append(Object.assign(document.createElement("input"), { type: "hidden", name: "sure", value: "1" }));
  },
  true,
);

// An answer that says nothing without a field is not kept to be refused later: the field is asked for at once.
addEventListener(
  "submit",
  (event) => {
    const fields = (event.submitter?.dataset.needs ?? "").split(" ").map((name) => event.target.elements[name]).filter(Boolean);
    if (!fields.length || fields.some((each) => each.value.trim())) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    want(fields[0], event.submitter.dataset.needsWords);
  },
  true,
);

function want(field, said) {
  const id = `${field.id}-wrong`;
  if (!document.getElementById(id)) {
    const told = Object.assign(document.createElement("p"), { id, className: "wrong-words", textContent: said });
    field.closest(".field").classList.add("wrong");
    field.after(told);
    const before = field.getAttribute("aria-describedby");
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", [before, id].filter(Boolean).join(" "));
    field.addEventListener("input", () => {
      told.remove();
      field.closest(".field").classList.remove("wrong");
      field.removeAttribute("aria-invalid");
      if (before) field.setAttribute("aria-describedby", before);
      else field.removeAttribute("aria-describedby");
    }, { once: true });
  }
  field.focus({ preventScroll: true });
  field.scrollIntoView({ block: "center" });
}

// Kept on the phone to be sent, or on its way without that: the fields need not be kept any more.
document.addEventListener("trayward:kept", (event) => event.target.querySelectorAll("[data-pad]").forEach(forget));
document.addEventListener("submit", (event) => !event.defaultPrevented && event.target.querySelectorAll("[data-pad]").forEach(forget));

// A figure beyond its limit: what was done about it is asked for here, for a phone without signal cannot be asked later.
const beyond = (field, limits) => {
  const value = Number.parseFloat(field.value.replace(",", "."));
  return value < Number.parseFloat(limits.low ?? "-Infinity") || value > Number.parseFloat(limits.high ?? "Infinity");
};

function weigh(form) {
  const asked = form.querySelector("[data-corrective]");
  const figures = [...form.querySelectorAll("[data-limits] input")];
  if (!asked || !figures.length) return;
  const words = asked.querySelector("textarea");
  const needed = figures.some((each) => beyond(each, each.closest("[data-limits]").dataset));
  asked.hidden = !needed && !words.value && !asked.querySelector(".wrong");
  words.required = needed;
}

document.addEventListener("input", (event) => {
  const form = event.target.closest?.("form");
  if (form && event.target.closest("[data-limits]")) weigh(form);
});

// Words that point to a fold open it.
document.addEventListener("click", (event) => {
  const opens = event.target.closest("[data-opens]");
  if (opens) document.getElementById(opens.dataset.opens)?.setAttribute("open", "");
});

addEventListener("trayward:live", begin);
begin();
