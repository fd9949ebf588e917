// A tap is meant for what stood there as the finger set out. A row that is answered shrinks, and goes once the book has it;
// what stands below moves up, and a finger on its way to one button would land on another. Such a tap is not taken.

const UNSEEN_MS = 300; // about as long as it takes to see that something moved and to stop the hand; common practice, no source
const LEAST_PX = 8;
let moved = -Infinity;
let stale = false;

// Do what may move the rows, and remember when it did.
export function steadily(change) {
  const before = [...document.querySelectorAll(".row[id]")].map((row) => [row, topOf(row)]).filter(([, top]) => top > -innerHeight && top < innerHeight);
  change();
  for (const [row, top] of before) {
    const now = row.isConnected ? row : document.getElementById(row.id);
    if (now && Math.abs(topOf(now) - top) > LEAST_PX) moved = performance.now();
  }
}

const topOf = (row) => row.getBoundingClientRect().top;

export function begin() {
  addEventListener("pointerdown", (event) => (stale = event.pointerType !== "mouse" && performance.now() - moved < UNSEEN_MS), true);
  addEventListener("click", refuse, true);
}

function refuse(event) {
  const late = stale;
  stale = false;
  if (!late || !event.detail || !event.target.closest?.("form[data-send] button")) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}
