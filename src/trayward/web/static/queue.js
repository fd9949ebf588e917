// Forms with `data-send` are kept on the device first, shown as kept at once, and sent as soon as there is a signal.
//   data-send          the answer to a row: the row's forms go, the answer stands there instead, until the book has it
//   data-send="more"   may be said again and again (a note, a weight): the form is emptied and stays
//   data-what          what it is about, where the row's own heading does not say it
//   data-then          where to go on to once it is kept
// On the form: the event `trayward:kept` (it bubbles; `detail.order`), once it is on the disk.

import "./kept.js";
import "./moments.js";
import "./send.js";
import { announce, cannot, inView, marks, own, plain, rowOf, signature, strip, words, header } from "./marks.js";
import { steadily } from "./steady.js";

const { kept, moments, send } = globalThis.trayward;
const FIRST_MS = 2000;
const LONGEST_MS = 60000;
const SHUT_MS = 20000;
const LOOK_MS = 5000;
const LARGE = 600000;
const MOST_PX = 2000;

const taking = new WeakSet();
let pause = FIRST_MS;
let timer = 0;
let running = null;
let again = false;
let end = { state: "done", held: [] };

export async function begin() {
  document.addEventListener("submit", caught);
  performance.mark("trayward-ready");
  kept.heard.add(news);
  for (const kind of ["online", "pageshow", "focus"]) addEventListener(kind, soon);
  document.addEventListener("visibilitychange", () => !document.hidden && soon());
  addEventListener("trayward:live", () => shown(true));
  setInterval(() => moments.look().catch(() => {}), LOOK_MS);
  document.addEventListener("click", tapped);
  try {
    await shown();
    await kept.tidy();
  } catch {
    cannot();
    return;
  }
  soon();
  // The server's clock is asked for once a page, so that what is said later without signal has its true moment.
  setTimeout(() => document.body.dataset.who && !running && send.reach(), 1500);
}

// Catching a form ------------------------------------------------------------------------------------------------------

function caught(event) {
  const form = event.target;
  if (event.defaultPrevented || !form.matches("form[data-send]")) return;
  event.preventDefault();
  if (taking.has(form)) return;
  taking.add(form);
  take(form, event.submitter).finally(() => taking.delete(form));
}

async function take(form, submitter) {
  const item = await read(form, submitter);
  let order = null;
  try {
    order = await kept.keep(item);
  } catch {
    return ordinary(form, submitter);
  }
  const about = { ...item, order, state: "waiting" };
  form.reset();
  // What was said before it is no news any more: its note would lie over the row that comes now.
  strip(null);
  steadily(() => (marks([about]), inView(order)));
  announce(words("kept-one"));
  form.dispatchEvent(new CustomEvent("trayward:kept", { bubbles: true, detail: { order } }));
  lasting();
  if (form.dataset.then) location.assign(form.dataset.then);
  else soon();
}

async function read(form, submitter) {
  const fields = [];
  for (const [name, value] of new FormData(form, submitter)) {
    if (name === "_key") continue;
    if (typeof value === "string") fields.push([name, value]);
    else if (value.size) fields.push([name, await pictured(value)]);
  }
  // Browsers of before 2023 leave the tapped button out of the form's data.
  if (submitter?.name && !fields.some(([name, value]) => name === submitter.name && value === submitter.value)) fields.push([submitter.name, submitter.value]);
  const action = submitter?.getAttribute("formaction") ?? form.getAttribute("action") ?? location.href;
  const to = new URL(action, location.href);
  const shown = fieldsOf(form);
  return {
    action: to.pathname + to.search, fields, shown, mark: signature(form), who: document.body.dataset.who ?? "",
    page: location.pathname + location.search, after: pageMoment(), ...about(form, submitter, fields, shown),
  };
}

// A picture as large as the book needs it: one of many megabytes does not get through one bar of signal. Anything else as
// it is, but a copy: the phone may move or change the file before it is sent.
export async function pictured(file) {
  if (file.type.startsWith("image/") && file.size > LARGE && globalThis.createImageBitmap) {
    try {
      const image = await createImageBitmap(file);
      const share = Math.min(1, MOST_PX / Math.max(image.width, image.height));
      const canvas = document.createElement("canvas");
      Object.assign(canvas, { width: Math.round(image.width * share), height: Math.round(image.height * share) });
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
      image.close();
      const small = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
      if (small && small.size < file.size) return { name: file.name.replace(/\.\w+$/, "") + ".jpg", file: small };
    } catch {
      // No picture that this browser reads: the server looks at it.
    }
  }
  return { name: file.name, file: new Blob([await file.arrayBuffer()], { type: file.type }) };
}

function pageMoment() {
  const made = Date.parse(document.querySelector("#page-moment time")?.dateTime);
  return Number.isNaN(made) ? null : made;
}

// The form's fields as people know them: to list what was typed, and to open it again.
function fieldsOf(form) {
  const found = new Map();
  for (const field of form.elements) {
    if (!field.name || field.name.startsWith("_") || NO_FIELD.has(field.type)) continue;
    const label = field.labels?.[0];
    const unit = plain(label?.querySelector(".unit") ?? field.closest(".scale")?.querySelector(".unit"));
    const one = ["radio", "checkbox"].includes(field.type) ? [field.value, plain(label)] : null;
    const before = found.get(field.name);
    if (before && one) {
      before.options = [...(before.options ?? [[before.value, before.label]]), one];
      before.label = plain(field.closest("fieldset")?.querySelector("legend")) || before.label;
      continue;
    }
    found.set(field.name, {
      name: field.name, kind: field.type, label: (label?.querySelector(".unit") ? plain(label).slice(0, -unit.length).trim() : plain(label)) || field.name, unit: unit || undefined, value: one?.[0], mode: field.inputMode || undefined,
      options: field.options && [...field.options].map((each) => [each.value, each.label]), need: field.required || undefined,
    });
  }
  return [...found.values()];
}
const NO_FIELD = new Set(["hidden", "submit", "button", "image", "reset", "fieldset", "output", "password"]);

function about(form, submitter, fields, shown) {
  const row = rowOf(form);
  const what = form.dataset.what || plain(row.querySelector("h2, h3, h4") ?? row.querySelector("p")) || plain(document.querySelector("h1"));
  const place = plain(row.querySelector(".place"));
  const button = submitter?.dataset.words ?? plain(submitter);
  const told = typed(fields, shown);
  // A count under the button's own word says what the button says: "Washed: 3".
  const twice = told.some((each) => each.startsWith(`${button}: `));
  return { what, place, button, answer: [twice ? "" : button, ...told].filter(Boolean).join(" · ") };
}

// What was typed, with its labels.
export function typed(fields, shown) {
  return shown.flatMap((field) => {
    const values = fields.filter(([name, value]) => name === field.name && value).map(([, value]) => value.name ?? field.options?.find(([each]) => each === value)?.[1] ?? value);
    return values.length ? [`${field.label}: ${field.kind === "checkbox" && !field.options ? "\u2713" : values.map((value) => withUnit(value, field.unit)).join(", ")}`] : [];
  });
}

// Who typed a bare number meant the unit that stands beside the field.
const withUnit = (value, unit) => (unit && /^[\d.,\s]+$/.test(value) ? `${value} ${unit}` : value);

// Nothing can be kept here (a private window, a full phone): say so, and send it the ordinary way. Without a signal the
// page stays as it is, with all that was typed.
async function ordinary(form, submitter) {
  cannot();
  const { state } = await reachAnyway();
  if (state === "away") {
    announce(words("cannot-away"));
    cannot(words("cannot-away"));
    return;
  }
  if (submitter?.name) {
    const said = document.createElement("input");
    Object.assign(said, { type: "hidden", name: submitter.name, value: submitter.value });
    form.append(said);
  }
  HTMLFormElement.prototype.submit.call(form);
}

async function reachAnyway() {
  try {
    const answer = await fetch("/live/now", { cache: "no-store", headers: { "trayward-live": "1", accept: "application/json" } });
    return { state: answer.status < 500 ? "here" : "away" };
  } catch {
    return { state: "away" };
  }
}

// Ask once that the phone does not throw it away when room gets short, and to be woken when there is signal.
async function lasting() {
  if (navigator.storage?.persist && !(await navigator.storage.persisted())) navigator.storage.persist();
  const worker = await navigator.serviceWorker?.getRegistration?.();
  worker?.sync?.register("trayward-send").catch(() => {});
}

// Sending --------------------------------------------------------------------------------------------------------------

function soon() {
  pause = FIRST_MS;
  now();
}

// How the last sending ended, and whose answers wait for them.
export const ending = () => end;

export async function now() {
  clearTimeout(timer);
  if (running) {
    again = true;
    return;
  }
  running = true;
  try {
    do {
      again = false;
      end = await send.run();
    } while (again && end.state === "done");
  } catch {
    end = { state: "away", held: [] };
  } finally {
    running = null;
  }
  await shown().catch(() => {});
  later();
}

async function later() {
  const { waiting } = await kept.counts().catch(() => ({ waiting: 0 }));
  clearTimeout(timer);
  if (!waiting) return;
  timer = setTimeout(now, (end.state === "shut" ? SHUT_MS : pause) * (0.8 + 0.4 * Math.random()));
  pause = Math.min(LONGEST_MS, pause * 2);
}

// What is heard ---------------------------------------------------------------------------------------------------------

let refreshing = 0;
async function news({ kind, order }) {
  if (kind === "landed") {
    clearTimeout(refreshing);
    refreshing = setTimeout(() => dispatchEvent(new Event("trayward:refresh")), 250);
    const item = await kept.get(order);
    if (item && own(item)) strip(item);
  }
  if (kind === "refused") {
    const item = await kept.get(order);
    if (item && own(item)) strip(item);
  }
  if (kind === "kept" && !running) later();
  await shown();
}

async function shown(fresh = false) {
  const all = await kept.all();
  steadily(() => (marks(all, { fresh, whole: true }), header(all, end)));
}

// Taking back -----------------------------------------------------------------------------------------------------------

async function tapped(event) {
  const theirs = event.target.closest("[data-take-theirs]");
  if (theirs) return tookTheirs(theirs);
  const button = event.target.closest("[data-take-back]");
  if (!button) return;
  const order = Number(button.dataset.takeBack);
  button.disabled = true;
  const item = (await kept.takeBack(order)) ?? (await kept.get(order));
  if (item?.state === "landed" && item.undo_ids?.length) await send.undoLanded(item);
  announce(words(item?.state === "back" ? "taken-back" : "will-be-taken-back"));
  strip(null, order);
  await shown();
  soon();
}

// What the other one answered to the row is taken back; one's own answer stays.
async function tookTheirs(button) {
  button.disabled = true;
  const order = Number(button.dataset.takeTheirs);
  await send.undoTheirs(await kept.get(order));
  announce(words("taken-back"));
  strip(null, order);
  await shown();
  soon();
}
