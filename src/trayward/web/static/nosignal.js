// The pages that open without a signal: the worker that keeps them, and a plain word on a page that is a kept one.

import { make, words } from "./marks.js";

const KEEP = /^\/(round|racks|harvest|unsent)$/;
const TRY_MS = 5000;

export function begin() {
  if (document.body.dataset.keptPage) keptPage();
  if (!("serviceWorker" in navigator) || !window.isSecureContext || document.documentElement.dataset.offline === "no") return;
  if (document.readyState === "complete") register();
  else addEventListener("load", register);
}

async function register() {
  try {
    await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
    const { active } = await navigator.serviceWorker.ready;
    const paths = [...document.querySelectorAll("nav.bar a[href]")].map((each) => each.pathname).filter((path) => KEEP.test(path));
    // The page itself was loaded before there was a worker.
    if (!navigator.serviceWorker.controller) paths.unshift(location.pathname + location.search);
    if (document.body.dataset.who && !document.body.dataset.keptPage) active.postMessage({ kind: "keep", paths: [...new Set([...paths, "/unsent"])] });
  } catch {
    // A page opened without a signal, or a browser that keeps nothing: the page works all the same.
  }
}

// This page comes from the phone: since when it stands so, until it could be made new.
function keptPage() {
  const moment = document.querySelector("#page-moment time");
  const day = document.getElementById("page-moment")?.textContent.replace(/\s+/g, " ").trim();
  const old = moment && Math.abs(Date.now() - Date.parse(moment.dateTime)) > 12 * 3600 * 1000;
  const time = (old ? day : moment?.textContent) || new Date(document.body.dataset.keptPage).toLocaleString(document.documentElement.lang);
  const slow = document.body.dataset.keptWhy === "slow";
  const banner = make("p", { class: "kept-page", id: "kept-page", role: "status" }, words(slow ? "slow" : "as-of", { time }));
  document.querySelector("main")?.prepend(banner);
  // What was said just after the page was kept is long over.
  document.querySelector(".said")?.remove();
  const lost = document.getElementById("connection");
  if (lost) {
    lost.textContent = "";
    lost.dataset.lost = "";
  }
  const asking = setInterval(again, TRY_MS);
  addEventListener("online", again);
  addEventListener("trayward:live", () => {
    clearInterval(asking);
    removeEventListener("online", again);
    if (lost) lost.dataset.lost = words("lost");
    banner.remove();
  }, { once: true });
}

async function again() {
  if (document.hidden) return;
  const { state } = await globalThis.trayward.send.reach();
  if (state === "here") dispatchEvent(new Event("trayward:refresh"));
}
