// Works the answer out as one types: the form is sent to its own address, which gives only the part of the answer.

const form = document.querySelector("form[data-sum]");
const answer = () => document.getElementById("answer"); // looked up anew: a page that is live may have put a fresh one there
const WAIT_MS = 250;
let timer = 0;
let asked = 0;

if (form) {
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(work, WAIT_MS);
  });
  form.addEventListener("change", work);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    clearTimeout(timer);
    work();
  });
}

function address() {
  const words = new URLSearchParams();
  for (const [name, value] of new FormData(form)) if (typeof value === "string" && value.trim()) words.append(name, value);
  const query = words.toString();
  return form.getAttribute("action") + (query ? "?" + query : "");
}

async function work() {
  const mine = ++asked;
  const sends = form.method === "post";
  const where = sends ? form.getAttribute("action") : address();
  try {
    const headers = { "trayward-part": "answer", "trayward-script": "1", accept: "text/html" };
    const reply = await fetch(where, sends ? { method: "POST", body: new FormData(form), headers } : { headers });
    const text = await reply.text();
    if (mine !== asked) return;
    if (!reply.ok) throw new Error(String(reply.status));
    put(new DOMParser().parseFromString(text, "text/html"));
    if (!sends) history.replaceState(history.state, "", where);
  } catch {
    // No signal: the button sends the form as usual, and says so.
    if (mine === asked) answer().classList.add("stale");
  }
}

function put(fresh) {
  const part = fresh.querySelector(".answer-words");
  if (!part) return;
  const open = new Set([...answer().querySelectorAll("details[open] > summary")].map((each) => each.textContent));
  answer().replaceChildren(document.adoptNode(part));
  answer().classList.remove("stale");
  answer().toggleAttribute("data-live", Boolean(part.querySelector(".working")));
  for (const each of answer().querySelectorAll("details > summary")) if (open.has(each.textContent)) each.parentElement.open = true;
  markWrong(part.dataset.fieldWrong);
  say(part.dataset.short);
}

// The figure stays in sight while one types.
function say(words) {
  const short = document.getElementById("short");
  if (!short) return;
  const [name, value] = words.split("|");
  short.replaceChildren();
  if (!value) return;
  const strong = document.createElement("strong");
  strong.textContent = value;
  short.append(name + " ", strong);
}

function markWrong(name) {
  for (const field of form.querySelectorAll("[data-field]")) {
    const wrong = field.dataset.field === name;
    field.classList.toggle("wrong", wrong);
    field.querySelector(".wrong-words")?.remove();
    const input = field.querySelector("input, select, textarea");
    if (wrong) input?.setAttribute("aria-invalid", "true");
    else input?.removeAttribute("aria-invalid");
    if (wrong && field.closest("details")) field.closest("details").open = true;
  }
}
