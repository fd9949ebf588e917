// The worker: pages as they were last seen, for where there is no signal, and sending when the phone wakes it.
// The server puts `const TRAYWARD = {static, files}` before it: the address of the static files, which moves with them, so
// that a new worker comes with every change. What was said and waits is not here but in IndexedDB: no worker throws it away.

importScripts(...["kept.js", "moments.js", "send.js"].map((name) => TRAYWARD.static + name));

const SHELL = `trayward-shell ${TRAYWARD.static}`;
const PAGES = "trayward-pages";
const AWAY = "/unsent/away";
const SLOW_MS = 2500; // one bar of signal: after this long the kept page is better than none
const STALE_MS = 10 * 60 * 1000;
const MOST = 80;

const KEPT_PAGE = /^\/(round|racks|harvest|unsent)(\/|$)|^\/tray\//;
const IN_SHELL = /^[^/]+$|^(round|racks|harvest|tray|unsent|people)\//;

// Its own life ----------------------------------------------------------------------------------------------------------

self.addEventListener("install", (event) => event.waitUntil(installed()));
self.addEventListener("activate", (event) => event.waitUntil(activated()));

async function installed() {
  const shell = await caches.open(SHELL);
  await shell.addAll(TRAYWARD.files.filter((name) => IN_SHELL.test(name)).map((name) => TRAYWARD.static + name));
  await away(shell);
  await self.skipWaiting();
}

// The page for pages that need a signal; without a person's name, so that it may stay.
async function away(shell) {
  try {
    const found = await fetch(AWAY, { headers: { accept: "text/html" } });
    if (found.ok && !found.redirected) await shell.put(AWAY, found);
  } catch {
    // The next worker gets it.
  }
}

async function activated() {
  for (const name of await caches.keys()) if (name.startsWith("trayward-shell ") && name !== SHELL) await caches.delete(name);
  await self.clients.claim();
}

// What is asked for -----------------------------------------------------------------------------------------------------

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method !== "GET") {
    if (url.pathname === "/logout") event.waitUntil(forget());
    return;
  }
  if (url.pathname.startsWith("/static/")) event.respondWith(file(request, url));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
  else if (request.headers.get("trayward-live") && KEPT_PAGE.test(url.pathname)) event.respondWith(live(event, url));
});

// A file of the shell; a page kept with an older address of it gets today's.
async function file(request, url) {
  const shell = await caches.open(SHELL);
  const name = url.pathname.split("/").slice(3).join("/");
  const own = url.pathname.startsWith(TRAYWARD.static);
  const found = own && (await shell.match(request, { ignoreVary: true }));
  if (found) return found;
  try {
    const fresh = await fetch(request);
    if (own && fresh.ok) await shell.put(request, fresh.clone());
    return fresh;
  } catch (error) {
    const todays = await shell.match(TRAYWARD.static + name, { ignoreVary: true });
    if (todays) return todays;
    throw error;
  }
}

async function page(event, url) {
  const may = KEPT_PAGE.test(url.pathname);
  const kept = may ? await found(url) : null;
  const asked = turn;
  const fresh = fetch(event.request).then((answer) => (event.waitUntil(seen(url, answer.clone(), asked)), answer));
  event.waitUntil(fresh.catch(() => {}));
  let why = "away";
  try {
    const first = await (kept ? Promise.race([fresh, slow()]) : fresh);
    if (first && !(may && kept && first.status >= 502 && first.status <= 504)) return first;
    if (!first) why = "slow";
  } catch {
    // No signal.
  }
  if (kept) return marked(kept, why);
  if (url.pathname === "/" && (await found(new URL("/round", url)))) return Response.redirect("/round");
  const shell = await caches.open(SHELL);
  return (await shell.match(AWAY, { ignoreVary: true })) ?? fresh;
}

const slow = () => new Promise((done) => setTimeout(done, SLOW_MS, null));

async function found(url) {
  const pages = await caches.open(PAGES);
  return pages.match(url.pathname + url.search, { ignoreVary: true });
}

// A page made new by its live parts: never from what is kept, but kept for the next time.
async function live(event, url) {
  const asked = turn;
  const fresh = await fetch(event.request);
  event.waitUntil(seen(url, fresh.clone(), asked));
  return fresh;
}

// The kept page says of itself that it is one.
async function marked(kept, why) {
  const at = kept.headers.get("trayward-kept-at") ?? "";
  const words = (await kept.text()).replace("<body ", `<body data-kept-page="${at}" data-kept-why="${why}" `);
  return new Response(words, { headers: kept.headers });
}

// Keeping pages ---------------------------------------------------------------------------------------------------------

// A page has come: kept if it is one of those and somebody's own; the log-in means that whoever was here is gone.
async function seen(url, answer, asked) {
  if (url.pathname === "/login" && answer.ok) return forget();
  const html = (answer.headers.get("content-type") ?? "").startsWith("text/html");
  if (!answer.ok || answer.redirected || !html) return;
  const words = await answer.text();
  const who = /<body [^>]*data-who="([^"]*)"/.exec(words)?.[1] ?? "";
  if (!who || asked !== turn) return;
  await onlyOf(who);
  if (!KEPT_PAGE.test(url.pathname)) return;
  const headers = new Headers(answer.headers);
  for (const name of ["content-encoding", "content-length", "etag"]) headers.delete(name);
  headers.set("trayward-kept-at", new Date().toISOString());
  headers.set("trayward-kept-who", encodeURIComponent(who));
  const pages = await caches.open(PAGES);
  const key = url.pathname + url.search;
  await pages.delete(key);
  await pages.put(key, new Response(words, { headers }));
  for (const old of (await pages.keys()).slice(0, -MOST)) await pages.delete(old);
}

// Pages of somebody else who was at this phone go; what was asked for in their turn and comes late is not kept.
let turn = 0;
let last = null;
async function onlyOf(who) {
  if (who === last) return;
  if (last !== null) turn++;
  const pages = await caches.open(PAGES);
  for (const key of await pages.keys()) {
    const kept = await pages.match(key, { ignoreVary: true });
    if (kept && kept.headers.get("trayward-kept-who") !== encodeURIComponent(who)) await pages.delete(key);
  }
  last = who;
}

async function forget() {
  last = null;
  turn++;
  await caches.delete(PAGES);
}

// A page that was on its way while the worker began is claimed once more. And pages are
// fetched before they are needed, so that each opens at the rack although nobody looked at it today.
self.addEventListener("message", (event) => {
  if (event.data?.kind === "keep") event.waitUntil(Promise.all([self.clients.claim(), keep(event.data.paths)]));
});

async function keep(paths) {
  for (const path of paths) {
    const url = new URL(path, location.origin);
    if (!KEPT_PAGE.test(url.pathname)) continue;
    const kept = await found(url);
    if (kept && Date.now() - Date.parse(kept.headers.get("trayward-kept-at")) < STALE_MS) continue;
    try {
      const asked = turn;
      await seen(url, await fetch(path, { headers: { "trayward-live": "1", accept: "text/html" } }), asked);
    } catch {
      return;
    }
  }
}

// Sending ---------------------------------------------------------------------------------------------------------------

self.addEventListener("sync", (event) => {
  if (event.tag === "trayward-send") event.waitUntil(sent());
});

async function sent() {
  const end = await trayward.send.run();
  // Thrown, the browser tries again later by itself.
  if (end.state === "away") throw new Error("no signal yet");
}
