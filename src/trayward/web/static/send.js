// Sends what was kept: in order, one at a time, by one tab or the worker alone. A plain script like kept.js, which comes
// before it; it makes `trayward.send`. See web/send.py for the other side.

(() => {
  const REACH_MS = 8000;
  const LEASE_MS = 15000;
  const FAULTS = 6; // so often our own fault, then it is set aside and the others go on
  const MOST_BYTES = 12 * 1024 * 1024 - 20000; // web/routing.py: UPLOAD_LIMIT, with room for what is around it
  const PATIENT = new Set([401, 408, 409, 425, 429]);

  const { kept, moments } = globalThis.trayward;
  const me = kept.newId();

  // Alone ------------------------------------------------------------------------------------------------------------

  // Web Locks end with their tab. They are there over TLS and on this machine; elsewhere a lease that lapses serves.
  const alone = (work) => (globalThis.navigator?.locks ? navigator.locks.request("trayward-send", work) : leased(work));

  async function leased(work) {
    while (!(await lease())) await new Promise((done) => setTimeout(done, 500 + 500 * Math.random()));
    const renewing = setInterval(lease, LEASE_MS / 3);
    try {
      return await work();
    } finally {
      clearInterval(renewing);
      await kept.writing(async (_, known) => {
        if ((await kept.one(known.get("lease")))?.by === me) await kept.one(known.delete("lease"));
      });
    }
  }

  // A lease that ends further ahead than any can is of a clock put back since: it does not hold.
  const lease = () =>
    kept.writing(async (_, known) => {
      const held = await kept.one(known.get("lease"));
      const left = held ? held.until - Date.now() : 0;
      if (held && held.by !== me && left > 0 && left <= LEASE_MS) return false;
      await kept.one(known.put({ by: me, until: Date.now() + LEASE_MS }, "lease"));
      return true;
    });

  // Is there a signal? ------------------------------------------------------------------------------------------------

  const patience = (ms) => (AbortSignal.timeout ? { signal: AbortSignal.timeout(ms) } : {});

  // Ask the server for its clock. `state`: here, shut (nobody is logged in, or a PIN is waited for), away.
  async function reach() {
    const began = performance.now();
    try {
      const answer = await fetch("/live/now", { cache: "no-store", redirect: "manual", headers: HEADERS, ...patience(REACH_MS) });
      if (answer.status === 401) return { state: "shut" };
      const told = answer.ok ? await answer.json() : {};
      const server = Date.parse(told.now);
      if (Number.isNaN(server)) return { state: "away" };
      const way = performance.now() - began;
      return { state: "here", ...(await moments.contact(server, Date.now() - way / 2)) };
    } catch {
      return { state: "away" };
    }
  }
  const HEADERS = { accept: "application/json", "trayward-live": "1" };

  // One answer --------------------------------------------------------------------------------------------------------

  function body(item) {
    const withFiles = item.fields.some(([, value]) => typeof value !== "string");
    const form = withFiles ? new FormData() : new URLSearchParams();
    for (const [name, value] of item.fields) {
      if (typeof value === "string") form.append(name, value);
      else form.append(name, value.file, value.name);
    }
    return form;
  }

  const weight = (item) => item.fields.reduce((sum, [, value]) => sum + (value.file?.size ?? value.length), 0);

  function headers(item, found, floor) {
    const now = Date.now();
    const moment = moments.sendable(item, found.offset, found.before, floor, now);
    // In whole milliseconds, and up: a hair before what the page showed, there would be nothing yet to answer.
    const off = Math.round(found.offset);
    const made = {
      accept: "application/json",
      "trayward-id": item.id,
      "trayward-said": new Date(Math.ceil(moment - off)).toISOString(),
      "trayward-now": new Date(now).toISOString(),
      "trayward-off": String(off),
    };
    if (item.who) made["trayward-who"] = encodeURIComponent(item.who);
    return { made, moment };
  }

  async function post(item, found) {
    // A server that reads no further closes the line, which would look like no signal, again and again.
    if (weight(item) > MOST_BYTES) {
      await refused(item, "", 413);
      return "refused";
    }
    const floor = await kept.known("floor");
    const { made, moment } = headers(item, found, floor);
    // From here on it may be in the book, whatever is heard of it.
    const out = await kept.change(item.order, stillWaits, (now) => ({ tries: now.tries + 1, unsure: true, tried: Date.now() }));
    if (!out) return "gone";
    let answer = null;
    let told = null;
    try {
      answer = await fetch(item.action, {
        method: "POST", headers: made, body: body(item), redirect: "manual", credentials: "same-origin",
        ...patience(20000 + weight(item) / 2),
      });
      told = await answer.json().catch(() => null);
    } catch {
      return "away";
    }
    return judged(item, answer.status, told, moment, floor);
  }

  const stillWaits = (item) => item.state === "waiting";

  // What an answer of the server means for what was sent.
  async function judged(item, status, told, moment, floor) {
    if (status === 200 && told?.landed === true) {
      await landed(item, told);
      if (!floor || item.order > floor.order) await kept.know("floor", { order: item.order, true: moment });
      return "landed";
    }
    if (status === 401) {
      await kept.change(item.order, stillWaits, { unsure: item.unsure });
      return "shut";
    }
    const ours = typeof told?.error?.sentence === "string";
    if (status >= 400 && status < 500 && !PATIENT.has(status) && (ours || status === 413)) {
      await refused(item, told?.error?.sentence ?? "", status);
      return "refused";
    }
    if (status === 500 && ours) {
      const after = await kept.change(item.order, stillWaits, (now) => ({ faults: (now.faults ?? 0) + 1 }));
      if (after && after.faults >= FAULTS) {
        await refused(after, told.error.sentence, status);
        return "refused";
      }
    }
    return "away";
  }

  async function landed(item, told) {
    const undo = told.undo ?? [];
    const theirs = (told.findings ?? []).filter((each) => each.code === "answered-too").flatMap((each) => each.entries ?? []);
    const after = await kept.change(item.order, stillWaits, () => ({
      ...kept.done("landed"), fields: [], unsure: false, say: told.say ?? "", undo_ids: undo, theirs,
      odd: (told.findings ?? []).map((each) => each.sentence), was: "",
    }));
    if (after?.undo && undo.length) await undoLanded(after);
  }

  // The server's undo, kept and sent like any answer.
  async function undoLanded(item) {
    const after = await kept.change(item.order, (now) => now.state === "landed" && !now.undone, { undone: true });
    if (!after) return;
    await strike(item, item.undo_ids);
  }

  // What somebody else said to the same row is taken back, and one's own answer stays.
  async function undoTheirs(item) {
    const after = await kept.change(item.order, (now) => now.theirs?.length, { theirs: [] });
    if (after) await strike(item, item.theirs);
  }

  async function strike(item, ids) {
    const { what, who, place, page } = item;
    const fields = [...ids.map((id) => ["entry", id]), ["_from", page]];
    await kept.keep({ action: "/undo", fields, what, who, place, page, takes: item.order, shown: [] });
  }

  async function refused(item, sentence, status) {
    await kept.change(item.order, stillWaits, (now) =>
      now.undo ? kept.done("back") : { state: "refused", sentence, status, unsure: false, refused: Date.now() },
    );
  }

  // All of them -------------------------------------------------------------------------------------------------------

  // Send what waits, in order. Gives how it ended: done, away (try again later), shut (somebody has to log in).
  async function run() {
    if (!(await kept.counts()).waiting) return { state: "done", held: [] };
    return alone(async () => {
      const found = await reach();
      if (found.state !== "here") return { state: found.state, held: [] };
      const held = new Set(); // whose answers wait until they are at the phone themselves
      for (;;) {
        const item = (await kept.waiting()).sort((a, b) => a.order - b.order).find((each) => !held.has(each.who));
        if (!item) break;
        const end = await post(item, found);
        if (end === "away") return { state: "away", held: [...held] };
        if (end === "shut") held.add(item.who);
      }
      return { state: held.size ? "shut" : "done", held: [...held] };
    });
  }

  globalThis.trayward.send = { leased, reach, run, undoLanded, undoTheirs };
})();
