// The list of what this device keeps, in plain words: what, when, who, how it stands; mend or drop what was not accepted.

import { announce, circle, make, own } from "../marks.js";
import { ending, now as sendNow, pictured, typed } from "../queue.js";

const { kept, send } = globalThis.trayward;
const list = document.getElementById("kept");
const DROP_MS = 6000;
const tongue = document.documentElement.lang;
const timeZone = list.dataset.zone || undefined; // the farm's
const clock = new Intl.DateTimeFormat(tongue, { timeZone, hour: "2-digit", minute: "2-digit" });
const dayAndClock = new Intl.DateTimeFormat(tongue, { timeZone, weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
let mending = null;
let offset = 0;

const words = (name, values = {}) => Object.entries(values).reduce((said, [key, value]) => said.replaceAll(`{${key}}`, value), list.dataset[name] ?? "");

// By the server's clock where that is known, else by this device's.
function when(item) {
  const moment = new Date(item.true ?? item.wall + offset);
  return Math.abs(Date.now() + offset - moment) < 12 * 3600 * 1000 ? clock.format(moment) : dayAndClock.format(moment);
}

// One row ---------------------------------------------------------------------------------------------------------------

function row(item, state, ...more) {
  const who = item.who || words("noName");
  return make("li", { class: "row", id: `said-${item.order}` },
    make("div", { class: "row-head" }, make("h3", {}, item.what), make("span", { class: "small" }, circle(item.state === "landed"), " ", state)),
    item.place ? make("p", { class: "place" }, item.place) : null,
    item.answer ? make("p", {}, item.answer) : null,
    make("p", { class: "soft small" }, words("told", { when: when(item), who })),
    ...more);
}

function waitingRow(item) {
  const tried = item.tries > 1 ? words("tries", { n: item.tries }) : "";
  const undo = item.undo || !own(item) ? null : make("button", { type: "button", class: "plain", "data-take-back": item.order }, texts().undo);
  return row(item, [item.undo ? texts().willBeTakenBack : texts().notSent, tried].filter(Boolean).join(", "), undo && make("p", { class: "answers" }, undo));
}

const texts = () => document.getElementById("kept-words").dataset;

function refusedRow(item) {
  const why = item.status === 500 ? words("fault") : item.sentence || words("large");
  const mend = make("button", { type: "button", class: "second" }, words("mend"));
  mend.addEventListener("click", () => open(item));
  return row(item, texts().notAccepted.replace(/:$/, ""), make("p", { class: "wrong-words" }, why), own(item) ? make("p", { class: "answers" }, mend, dropButton(item)) : null);
}

// Dropping takes a second tap, and is remembered on the list.
function dropButton(item) {
  const button = make("button", { type: "button", class: "plain" }, words("drop"));
  let sure = 0;
  button.addEventListener("click", async () => {
    if (!sure) {
      button.textContent = words("dropSure");
      sure = setTimeout(() => ((sure = 0), (button.textContent = words("drop"))), DROP_MS);
      return;
    }
    clearTimeout(sure);
    await kept.drop(item.order);
    announce(words("dropDone"));
  });
  return button;
}

function doneRow(item) {
  const state = item.state === "landed" ? (item.undone ? words("undone") : words("landed")) : item.state === "dropped" ? words("dropped") : words("back");
  return row(item, state, ...(item.odd ?? []).map((each) => make("p", { class: "odd" }, each)), item.state === "dropped" && item.sentence ? make("p", { class: "soft" }, item.sentence) : null);
}

// Mending ---------------------------------------------------------------------------------------------------------------

// The form once more, with its labels and what was typed, wherever its page is now.
function open(item) {
  mending = item.order;
  const place = document.getElementById(`said-${item.order}`);
  const form = make("form", { class: "mend" });
  for (const field of item.shown) form.append(fieldOf(item, field));
  const leave = make("button", { type: "button", class: "quiet" }, words("leave"));
  leave.addEventListener("click", () => ((mending = null), show()));
  form.append(make("p", { class: "answers" }, make("button", { class: "first" }, words("save")), leave));
  form.addEventListener("submit", (event) => (event.preventDefault(), save(item, form)));
  place.querySelector(".answers").replaceWith(form);
  form.querySelector("input, select, textarea, button").focus();
}

function fieldOf(item, field) {
  const id = `mend-${item.order}-${field.name}`;
  const values = item.fields.filter(([name]) => name === field.name).map(([, value]) => value);
  const name = field.name;
  if (field.options && field.kind.startsWith("select")) {
    const options = field.options.map(([each, said]) => make("option", { value: each, selected: values.includes(each) ? "" : null }, said || each));
    return make("div", { class: "field" }, make("label", { for: id }, field.label, ...(field.unit ? [" ", make("span", { class: "unit" }, field.unit)] : [])), make("select", { id, name, multiple: field.kind === "select-multiple" ? "" : null }, ...options));
  }
  if (field.kind === "checkbox" || field.kind === "radio") {
    const choices = (field.options ?? [[field.value, field.label]]).map(([each, said]) =>
      make("label", { class: "choice" }, make("input", { type: field.kind, name, value: each, checked: values.includes(each) ? "" : null }), " ", make("span", {}, said || each), " "));
    return field.options ? make("fieldset", {}, make("legend", {}, field.label), ...choices) : make("div", { class: "field tick" }, ...choices);
  }
  const need = field.need && field.kind !== "file" ? "" : null;
  const made = field.kind === "textarea" ? make("textarea", { id, name, rows: 3, required: need }) : make("input", { id, name, type: field.kind, inputmode: field.mode, required: need, autocomplete: "off" });
  if (field.kind !== "file") made.value = values[0] ?? "";
  return make("div", { class: "field" }, make("label", { for: id }, field.label, ...(field.unit ? [" ", make("span", { class: "unit" }, field.unit)] : [])), made, field.kind === "file" && values.length ? make("p", { class: "hint" }, words("photoStays")) : null);
}

async function save(item, form) {
  const files = new Set(item.shown.filter((field) => field.kind === "file").map((field) => field.name));
  const names = new Set(item.shown.map((field) => field.name));
  // The form's hidden fields and its button as they were; the pictures, too, unless others were chosen.
  const fields = item.fields.filter(([name]) => !names.has(name) || (files.has(name) && !form.elements[name].files.length));
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string") fields.push([name, value]);
    else if (value.size) fields.push([name, await pictured(value)]);
  }
  mending = null;
  await kept.mend(item.order, fields, { answer: [item.button, ...typed(fields, item.shown)].filter(Boolean).join(" · ") });
  sendNow();
}

// All of it -------------------------------------------------------------------------------------------------------------

async function show() {
  const all = await kept.all();
  offset = (await kept.known("contact"))?.offset ?? 0;
  if (mending !== null && all.find((item) => item.order === mending)?.state === "refused") return;
  const today = (item) => Date.now() - item.done < 24 * 3600 * 1000 && new Date(item.done).getDate() === new Date().getDate();
  fill("waiting", all.filter((item) => item.state === "waiting"), waitingRow);
  fill("refused", all.filter((item) => item.state === "refused"), refusedRow);
  fill("landed", all.filter((item) => item.state === "landed" && today(item)).reverse(), doneRow);
  fill("gone", all.filter((item) => item.state === "back" || item.state === "dropped").reverse(), doneRow);
  document.getElementById("kept-now").hidden = !all.some((item) => item.state === "waiting");
}

function fill(name, items, made) {
  document.getElementById(`kept-${name}`).replaceChildren(...items.map(made));
  for (const part of ["part", "none"]) {
    const element = document.getElementById(`kept-${name}-${part}`);
    if (element) element.hidden = part === "none" ? items.length > 0 : items.length === 0;
  }
}

async function state() {
  const told = document.getElementById("kept-state");
  const { waiting } = await kept.counts();
  const found = waiting ? (await send.reach()).state : "";
  const { held } = ending();
  told.textContent = waiting && held.length ? texts().waitsFor.replace("{who}", held.join(", ")) : (told.dataset[found] ?? "");
}

document.getElementById("kept-now").addEventListener("click", async () => {
  await state();
  await sendNow();
  await state();
});
document.getElementById("kept-again")?.addEventListener("click", () => location.reload());
kept.heard.add(() => show().then(state));
await show();
await state();
if (location.hash) document.querySelector(location.hash)?.scrollIntoView();
