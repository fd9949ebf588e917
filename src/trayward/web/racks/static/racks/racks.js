// Moving a tray by two taps: the tray, then a free spot that suits it. Without this script the tray's own page does it.

const tool = document.getElementById("move-tool");
const main = document.getElementById("main");
let chosen = "";

if (tool) begin();

function begin() {
  tool.hidden = false;
  button().addEventListener("click", () => set(!on()));
  main.addEventListener("click", tapped);
  main.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && on()) set(false);
    if ((event.key === "Enter" || event.key === " ") && event.target.matches(".suits[data-spot]")) tapped(event);
  });
  addEventListener("trayward:live", show);
}

function button() {
  return tool.querySelector("button");
}

function on() {
  return button().getAttribute("aria-pressed") === "true";
}

function set(there) {
  button().setAttribute("aria-pressed", String(there));
  chosen = "";
  say(there ? tool.dataset.pick : "");
  show();
}

function say(words) {
  tool.querySelector("[role=status]").textContent = words;
}

function filled(words, spot = "") {
  return words.replace("{tray}", chosen).replace("{spot}", spot);
}

function tapped(event) {
  if (!on()) return;
  const tray = event.target.closest("[data-tray]");
  const spot = event.target.closest(".suits[data-spot]");
  if (!tray && !spot) return;
  event.preventDefault();
  if (tray) pick(tray.dataset.tray);
  else put(spot.dataset.spot);
}

function pick(tray) {
  chosen = chosen === tray ? "" : tray;
  const count = show();
  if (!chosen) say(tool.dataset.pick);
  else say(filled(count ? tool.dataset.put : tool.dataset.none));
}

function put(spot) {
  const form = tool.querySelector("form");
  form.elements.tray.value = chosen;
  form.elements.spot.value = spot;
  const words = filled(tool.dataset.going, spot);
  form.dataset.what = `${chosen} \u2192 ${spot}`;
  set(false);
  say(words);
  form.requestSubmit();
}

// Mark what is chosen and which free spots suit it; the parts of the page may have been replaced since.
function show() {
  const tray = on() && chosen ? main.querySelector(`[data-tray="${CSS.escape(chosen)}"]`) : null;
  for (const each of main.querySelectorAll(".chosen")) each.classList.remove("chosen");
  tray?.classList.add("chosen");
  let count = 0;
  for (const spot of main.querySelectorAll("[data-spot]")) {
    const suits = tray !== null && fits(tray, spot);
    spot.classList.toggle("suits", suits);
    if (suits) {
      spot.setAttribute("role", "button");
      spot.tabIndex = 0;
      count += 1;
    } else {
      spot.removeAttribute("role");
      spot.removeAttribute("tabindex");
    }
  }
  return count;
}

// The right kind of shelf, and no higher a pile than what stands there and the tray itself allow.
function fits(tray, spot) {
  const ground = tray.dataset.ground;
  if (ground !== "bench" && ground !== spot.dataset.kind) return false;
  const held = [...spot.parentElement.querySelectorAll("[data-tray]")].filter((each) => each !== tray);
  const limit = Math.min(Number(tray.dataset.stack), ...held.map((each) => Number(each.dataset.stack)));
  return held.length < limit || held.length === 0;
}
