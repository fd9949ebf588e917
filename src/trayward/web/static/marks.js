// What stands on the page about what was kept: a mark in its row, the count in the header, a strip at the foot.

const UNDO_MS = 10000;
const MOST_NOTES = 3; // at the foot at once: more would hide the page, and all stand on the list
const marked = new Map(); // by order: the mark and the row it stands for
let stripped = 0;

const store = () => document.getElementById("kept-words");

// Our words in the page's language; `{n}` and the like are filled in.
export function words(name, values = {}) {
  let said = store()?.dataset[name.replace(/-(\w)/g, (_, letter) => letter.toUpperCase())] ?? "";
  for (const [key, value] of Object.entries(values)) said = said.replaceAll(`{${key}}`, value);
  return said;
}

export const counted = (name, n) => words(n === 1 ? `${name}-one` : `${name}-many`, { n });

export function make(kind, attributes = {}, ...inside) {
  const made = document.createElement(kind);
  for (const [name, value] of Object.entries(attributes)) if (value !== null && value !== undefined) made.setAttribute(name, value);
  made.append(...inside.filter((each) => each !== null && each !== ""));
  return made;
}

export const circle = (full) => make("span", { class: full ? "circle full" : "circle", "aria-hidden": "true" });

export const rowOf = (form) => form.parentElement.closest("[data-row], .row, .card, li") ?? form;

// Which form it is: where it goes, and what it is about. Its name tells, where it has one: that stays when the page is
// made new, while its other hidden fields may move with the rows around it.
export function signature(form) {
  const name = form.dataset.row ?? form.querySelector("input[name=_form]")?.value;
  if (name) return JSON.stringify([path(form), name]);
  const hidden = [...form.elements].filter((each) => each.type === "hidden" && each.name !== "_key" && each.name !== "_from");
  const pairs = hidden.map((each) => [each.name, each.value]).sort();
  return JSON.stringify([path(form), pairs]);
}

const path = (form) => new URL(form.getAttribute("action") ?? "", location.href).pathname;

// An element's words as eyes read them.
export function plain(element) {
  if (!element) return "";
  const copy = element.cloneNode(true);
  for (const each of copy.querySelectorAll("[aria-hidden=true], .unseen, input, select, textarea, output")) each.remove();
  return copy.textContent.replace(/\s+/g, " ").trim();
}

// Rows ------------------------------------------------------------------------------------------------------------------

// `whole`: these are all there are; marks of others go. `fresh`: the page was just made new by the server.
export function marks(items, { fresh = false, whole = false } = {}) {
  const forms = new Map();
  for (const form of document.querySelectorAll("form[data-send]")) forms.set(signature(form), form);
  const alive = new Map(items.map((item) => [item.order, item]));
  for (const [order, { mark }] of marked) {
    const item = alive.get(order);
    const over = whole && (!item || item.state === "back" || item.state === "dropped" || (fresh && item.state === "landed"));
    if (!mark.isConnected || over) unmark(order);
    else if (item && mark.dataset.state !== stateOf(item)) say(order, item);
  }
  for (const item of items) {
    const form = forms.get(item.mark);
    if (form && !marked.has(item.order) && (item.state === "waiting" || item.state === "refused")) put(form, item);
  }
}

// The row that was answered, where its folding up drew it out of sight.
export function inView(order) {
  const mark = marked.get(order)?.mark;
  const box = mark?.getBoundingClientRect();
  if (box && (box.top < 0 || box.bottom > innerHeight)) mark.scrollIntoView({ block: "center" });
}

const stateOf = (item) => (item.state === "waiting" && item.undo ? "undone" : item.state);
const STATES = { waiting: "not-sent", undone: "will-be-taken-back", landed: "sent", refused: "not-accepted" };

function put(form, item) {
  const more = form.dataset.send === "more";
  const mark = make("p", { class: "kept-mark", tabindex: "-1" });
  const within = form.contains(document.activeElement);
  const row = more ? null : rowOf(form);
  // What it is about, where the row's own heading does not stand there any more.
  const what = !row || row === form || form.querySelector("h2, h3, h4") ? item.what : "";
  marked.set(item.order, { mark, row, what });
  say(item.order, item);
  if (more) form.after(mark);
  else form.before(mark);
  // The button that had the focus is gone: it goes to what stands there now, not to the top of the page.
  if (within && !more) mark.focus({ preventScroll: true });
}

function say(order, item) {
  const { mark, row, what } = marked.get(order);
  mark.dataset.state = stateOf(item);
  if (row) row.dataset.kept = item.state;
  const inside = [circle(item.state === "landed"), " ", what ? make("strong", {}, what) : null, what ? " " : "", [item.answer, own(item) ? "" : item.who, ""].filter((each, at) => each || at === 2).join(" · "), make("span", { class: "soft" }, words(STATES[stateOf(item)])), " "].filter(Boolean);
  if (item.state === "refused" && own(item)) inside.push(item.sentence || words("too-large"), " ", make("a", { href: `/unsent#said-${item.order}` }, words("mend")));
  if (stateOf(item) === "waiting" && own(item)) inside.push(undoButton(item));
  mark.replaceChildren(...inside);
}

// Said by who is at the page now: only they take it back, mend it or drop it.
export const own = (item) => item.who === (document.body.dataset.who ?? "");

const undoButton = (item) => make("button", { type: "button", class: "quiet", "data-take-back": item.order }, words("undo"), make("span", { class: "unseen" }, ` ${item.answer} ${item.what}`));

function unmark(order) {
  const { mark, row } = marked.get(order);
  marked.delete(order);
  mark.remove();
  if (row && ![...marked.values()].some((other) => other.row === row)) delete row.dataset.kept;
}

// Header ----------------------------------------------------------------------------------------------------------------

// How much is not sent, and why; on a page without a header (the log-in) it stands above everything.
export function header(all, end) {
  const waiting = all.filter((item) => item.state === "waiting");
  const refused = all.filter((item) => item.state === "refused").length;
  const place = document.getElementById("unsent") ?? madePlace();
  place.hidden = !waiting.length && !refused;
  const said = [];
  if (waiting.length) said.push(circle(false), " ", make("a", { href: "/unsent" }, words("unsent", { n: waiting.length })));
  if (refused) said.push(said.length ? " · " : "", make("a", { href: "/unsent" }, words("refused", { n: refused })));
  if (waiting.length && end.state === "shut") said.push(" · ", ...login(waiting, end.held));
  const now = make("span", {}, ...said).innerHTML;
  if (place.innerHTML !== now) {
    place.innerHTML = now;
    announce(place.hidden ? words("all-sent") : place.textContent);
  }
  if (navigator.setAppBadge) (place.hidden ? navigator.clearAppBadge() : navigator.setAppBadge(waiting.length + refused)).catch(() => {});
}

function login(waiting, held) {
  const whose = held.filter(Boolean).join(", ");
  if (whose) return [words("waits-for", { who: whose })];
  const back = encodeURIComponent(location.pathname + location.search);
  const here = document.body.dataset.who ? `/lock?next=${back}` : null;
  return [here ? make("a", { href: here }, counted("login", waiting.length)) : counted("login", waiting.length)];
}

function madePlace() {
  const made = make("p", { id: "unsent", hidden: "" });
  document.querySelector("main")?.prepend(made);
  return made;
}

// Said aloud, and at the foot -------------------------------------------------------------------------------------------

let spoken = null;
export function announce(said) {
  if (!spoken) {
    spoken = make("p", { class: "unseen", role: "status", id: "kept-told" });
    document.body.append(spoken);
  }
  if (said) spoken.textContent = said;
}

// What the book said of it, with its undo for a while; what deserves a look, or was not taken, stays until it is put away,
// whatever comes after, below the newest. `over`: the answer that was just taken back.
export function strip(item, over = null) {
  const place = document.getElementById("kept-strip") ?? make("div", { class: "kept-strip", id: "kept-strip" });
  for (const note of [...place.children]) if (!note.dataset.stays || note.dataset.order === String(over ?? item?.order)) note.remove();
  clearTimeout(stripped);
  const note = item && !item.takes ? noteOf(item) : null;
  if (note) place.prepend(note);
  while (place.children.length > MOST_NOTES) place.lastChild.remove();
  if (!place.children.length) place.remove();
  else if (!place.isConnected) document.body.append(place);
}

function noteOf(item) {
  const refused = item.state === "refused";
  const odd = refused ? [`${words("not-accepted")} ${item.sentence || words("too-large")}`] : (item.odd ?? []);
  const may = !refused && item.undo_ids?.length && !item.undo;
  if ((!odd.length && !may) || (refused && location.pathname === "/unsent")) return null;
  // What the book says of a count names it; beside it the answer would say it twice.
  const counts = item.say && item.button && item.answer?.startsWith(`${item.button}: `);
  const told = refused ? [item.what, item.answer] : [counts ? "" : item.answer, item.say];
  const note = make("div", { class: refused ? "said refused" : "said", role: refused ? "alert" : "status", "data-order": item.order }, make("p", {}, circle(!refused), " ", told.filter(Boolean).join(" · ")));
  for (const each of odd) note.append(make("p", { class: "odd" }, each));
  if (refused) note.append(make("a", { href: `/unsent#said-${item.order}`, class: "button plain" }, words("mend")));
  if (may) note.append(make("button", { type: "button", class: "plain", "data-take-back": item.order }, words("undo")));
  if (!refused && item.theirs?.length) note.append(make("button", { type: "button", class: "plain", "data-take-theirs": item.order }, words("undo-theirs")));
  if (odd.length) {
    note.dataset.stays = "1";
    note.append(awayButton(note));
  } else stripped = setTimeout(() => !note.contains(document.activeElement) && putAway(note), UNDO_MS);
  return note;
}

function awayButton(note) {
  const away = make("button", { type: "button", class: "plain" }, words("good"));
  away.addEventListener("click", () => putAway(note));
  return away;
}

function putAway(note) {
  const place = note.parentElement;
  note.remove();
  if (place && !place.children.length) place.remove();
}

// Nothing can be kept on this device: it stands above the page.
export function cannot(said = words("cannot")) {
  document.getElementById("kept-cannot")?.remove();
  document.querySelector("main")?.prepend(make("p", { class: "working", id: "kept-cannot", role: "status" }, said));
}
