// What was said on this device until it is in the book: kept in IndexedDB before anything else. A plain script, as the
// pages (as a module, for its effect) and the worker (by importScripts) both load it; it makes `trayward.kept`.

(() => {
  const NAME = "trayward";
  const SHAPE = 1;
  const AT_MOST = 200; // how many done ones are still listed
  const STAY_MS = 3 * 24 * 3600 * 1000;

  let opening = null;

  function open() {
    opening ??= new Promise((done, failed) => {
      if (!globalThis.indexedDB) return failed(new Error("no IndexedDB"));
      const asked = indexedDB.open(NAME, SHAPE);
      asked.onupgradeneeded = () => {
        const said = asked.result.createObjectStore("said", { keyPath: "order", autoIncrement: true });
        said.createIndex("state", "state");
        asked.result.createObjectStore("known");
      };
      asked.onsuccess = () => {
        const store = asked.result;
        store.onversionchange = () => (store.close(), (opening = null));
        store.onclose = () => (opening = null);
        done(store);
      };
      asked.onerror = () => failed(asked.error);
      asked.onblocked = () => failed(new Error("IndexedDB is blocked"));
    });
    opening.catch(() => (opening = null));
    return opening;
  }

  const one = (request) =>
    new Promise((done, failed) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => failed(request.error);
    });

  // One transaction: `make(said, known)` may wait for `one(...)` requests alone. Done when it is on the disk.
  async function work(mode, make) {
    const store = await open();
    const tx = store.transaction(["said", "known"], mode, { durability: "strict" });
    const whole = new Promise((done, failed) => {
      tx.oncomplete = () => done();
      tx.onabort = () => failed(tx.error || new Error("not kept"));
    });
    whole.catch(() => {});
    try {
      const value = await make(tx.objectStore("said"), tx.objectStore("known"));
      await whole;
      return value;
    } catch (error) {
      try {
        tx.abort();
      } catch {
        // it is over already
      }
      throw error;
    }
  }

  const reading = (make) => work("readonly", make);
  const writing = (make) => work("readwrite", make);

  // An id; `randomUUID` is there over TLS and on this machine alone (RFC 9562, version 4).
  function newId() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  // Other tabs and the worker hear of it.
  const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("trayward-kept") : null;
  const heard = new Set();
  if (channel) channel.onmessage = (event) => heard.forEach((each) => each(event.data));
  function tell(news) {
    channel?.postMessage(news);
    heard.forEach((each) => each(news));
  }

  // Keep an answer. It is safe when this is done; only then may the page show it.
  async function keep(item) {
    const { moments } = globalThis.trayward;
    await moments.look();
    const order = await writing(async (said, known) => {
      const contact = await one(known.get("contact"));
      const marks = moments.stamp(contact, item.after);
      const stamped = { ...item, ...marks, id: newId(), state: "waiting", tries: 0, unsure: false };
      return one(said.add(stamped));
    });
    tell({ kind: "kept", order });
    return order;
  }

  // Change one item, if it is (still) as `may` wants it. Gives the item after the change; null where it was left alone.
  async function change(order, may, changes) {
    const after = await writing(async (said) => {
      const item = await one(said.get(order));
      if (!item || !may(item)) return null;
      const next = { ...item, ...(typeof changes === "function" ? changes(item) : changes) };
      await one(said.put(next));
      return next;
    });
    if (after) tell({ kind: after.state, order });
    return after;
  }

  // Take back what has not been sent. Where a try may have reached the book, only the book's strike takes it back: then it
  // is sent all the same (once, as its id is the same) and struck at once.
  const takeBack = (order) =>
    change(order, (item) => item.state === "waiting", (item) => (item.unsure ? { undo: true } : done("back")));

  // What was not accepted is dropped, and that is remembered.
  const drop = (order) => change(order, (item) => item.state === "refused", done("dropped"));

  // What was not accepted is said again with other words: it keeps its moment and its place, and gets a new id.
  const mend = (order, fields, more) =>
    change(order, (item) => item.state === "refused", {
      ...more, fields, id: newId(), state: "waiting", tries: 0, faults: 0, unsure: false, sentence: "", mended: true,
    });

  function done(state) {
    return { state, done: Date.now() };
  }

  const all = () => reading((said) => one(said.getAll()));
  const get = (order) => reading((said) => one(said.get(order)));
  const waiting = () => reading((said) => one(said.index("state").getAll("waiting")));

  async function counts() {
    return reading(async (said) => ({
      waiting: await one(said.index("state").count("waiting")),
      refused: await one(said.index("state").count("refused")),
    }));
  }

  const known = (name) => reading((_, store) => one(store.get(name)));
  const know = (name, value) => writing((_, store) => one(store.put(value, name)));

  // Old ones go: done for three days, or the oldest of many. What waits or was not accepted never goes by itself.
  async function tidy() {
    await writing(async (said) => {
      const old = (await one(said.getAll())).filter((item) => item.done);
      const gone = old.filter((item, place) => place < old.length - AT_MOST || Math.abs(Date.now() - item.done) > STAY_MS);
      for (const item of gone) await one(said.delete(item.order));
    });
  }

  (globalThis.trayward ??= {}).kept = {
    all, change, counts, done, drop, get, heard, keep, know, known, mend, newId, one, reading, takeBack, tell, tidy, waiting,
    writing,
  };
})();
