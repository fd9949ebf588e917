// What is typed into a step stays through a reload; the time zone is guessed; fields that do not count are put away.

const form = document.querySelector("form[data-step]");
const KEPT = "trayward-setup-";

if (form) {
  guessZone();
  bringBack();
  form.addEventListener("input", keep);
  form.addEventListener("change", hideWhatDoesNotCount);
  hideWhatDoesNotCount();
} else {
  for (const key of Object.keys(sessionStorage)) if (key.startsWith(KEPT)) sessionStorage.removeItem(key);
}

function asked() {
  return [...form.elements].filter((each) => each.name && each.type !== "hidden" && each.tagName !== "BUTTON" && each.tagName !== "FIELDSET");
}

// Kept under the whole address: another way through the questions begins with its own proposals.
function place() {
  return KEPT + location.search;
}

function keep() {
  const words = asked().map((each) => (each.type === "checkbox" || each.type === "radio" ? each.checked : each.value));
  sessionStorage.setItem(place(), JSON.stringify(words));
}

function bringBack() {
  const words = JSON.parse(sessionStorage.getItem(place()) || "[]");
  const fields = asked();
  if (words.length !== fields.length) return;
  fields.forEach((each, number) => {
    if (typeof words[number] === "boolean") each.checked = words[number];
    else each.value = words[number];
  });
}

function guessZone() {
  const field = form.elements.timezone;
  if (!field || new URLSearchParams(location.search).has("timezone")) return;
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if ([...field.options].some((each) => each.value === zone)) field.value = zone;
}

function hideWhatDoesNotCount() {
  const show = (selector, wanted) => {
    const part = form.querySelector(selector);
    if (part) part.hidden = !wanted;
  };
  if (form.elements.lamp) show("[data-lamp]", form.elements.lamp.value !== "no");
  if (form.elements.who) show("[data-sells]", form.elements.who.value === "sell");
}
