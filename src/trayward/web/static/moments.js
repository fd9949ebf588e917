// When it was said, by a clock that may be wrong, may be put right, and may be put back while answers wait.
//
// The device's wall clock says a moment; the server's clock is the one that counts. In each stretch in which the wall
// clock runs as evenly as the monotonic one (`performance.now`), one measured difference to the server turns every moment
// of the stretch into the server's. So an answer has
//   wall      what the clock showed as it was said, put right where the clock was seen to be put back since
//   stretch   in which stretch that was
//   true      its moment by the server's clock [ms], once a difference was measured in its stretch; null before
//   maybe     by how much the clock went ahead since without the monotonic one [ms]: asleep (then that is right), or
//             put ahead (then `wall` has to be, too). It shows at the next contact.
//   after     the server's clock at the last contact before, or as it made the page: it was not said earlier
// A clock put back is beyond doubt: time does not go back. The order of answers is not the clock's but the order in which
// they were kept, and no answer is sent with an earlier moment than the one kept before it.

(() => {
  const STEP_MS = 2000; // less than this is the clocks' own unevenness
  const ALIKE_MS = 10000; // two differences this near are the same one

  let stretch = null;
  let wall = 0;
  let steady = 0;
  let offset = null; // server minus device, measured in this stretch [ms]

  function begin() {
    wall = Date.now();
    steady = performance.now();
    stretch = globalThis.trayward.kept.newId();
  }

  // How far the wall clock went off the monotonic one since the last look; 0 where it runs evenly.
  function stepped() {
    if (!stretch) begin();
    const by = Date.now() - wall - (performance.now() - steady);
    wall = Date.now();
    steady = performance.now();
    return Math.abs(by) > STEP_MS ? by : 0;
  }

  // What the answers of a stretch become when the clock has stepped by so much.
  function shifted(item, by, next) {
    if (item.true !== null) return item;
    if (by < 0) return { ...item, wall: item.wall + by, stretch: next };
    return { ...item, maybe: item.maybe + by, stretch: next };
  }

  // Look whether the clock was put elsewhere; if so, what waits from this stretch is put right, and a new one begins.
  async function look() {
    const by = stepped();
    if (!by) return;
    const { kept } = globalThis.trayward;
    const before = stretch;
    stretch = kept.newId();
    offset = by < 0 && offset !== null ? offset - by : null;
    await kept.writing(async (said) => {
      for (const item of await kept.one(said.index("state").getAll("waiting")))
        if (item.stretch === before && item.true === null) await kept.one(said.put(shifted(item, by, stretch)));
    });
  }

  // The marks of an answer that is said now. `contact`: the last one there was, in whatever stretch. `page`: the server's
  // clock as it made the page that the answer stands on.
  function stamp(contact, page = null) {
    const now = Date.now();
    const after = Math.max(contact?.server ?? -Infinity, page ?? -Infinity);
    return { wall: now, stretch, true: offset === null ? null : now + offset, maybe: 0, after: after > -Infinity ? after : null };
  }

  // Its moment by the server's clock, by a difference measured now. `before`: the contact before this one.
  function placed(item, off, before) {
    if (item.true !== null) return item.true;
    const plain = item.wall + off;
    if (!item.maybe) return plain;
    const moved = before ? before.offset - off : 0;
    const wasPut = Math.abs(moved) > ALIKE_MS && Math.abs(moved - item.maybe) <= ALIKE_MS;
    const cannotBe = item.after !== null && plain < item.after - ALIKE_MS && plain + item.maybe >= item.after - ALIKE_MS;
    return wasPut || cannotBe ? plain + item.maybe : plain;
  }

  // The moment to send: never before the last contact ahead of it, never before what was kept ahead of it, never ahead.
  function sendable(item, off, before, floor, now) {
    const low = floor && item.order > floor.order ? floor.true : -Infinity;
    return Math.min(Math.max(placed(item, off, before), item.after ?? -Infinity, low), now + off);
  }

  // The server's clock was read: `server` [ms] as this device's showed `at`.
  async function contact(server, at) {
    await look();
    const off = server - at;
    offset = off;
    const { kept } = globalThis.trayward;
    return kept.writing(async (said, known) => {
      const before = await kept.one(known.get("contact"));
      for (const item of await kept.one(said.index("state").getAll("waiting")))
        if (item.stretch === stretch && item.true === null)
          await kept.one(said.put({ ...item, true: placed(item, off, before), maybe: 0 }));
      await kept.one(known.put({ server, offset: off }, "contact"));
      return { offset: off, before };
    });
  }

  (globalThis.trayward ??= {}).moments = { contact, look, placed, sendable, shifted, stamp };
})();
