// A tap that comes before the scripts are there: it is held, shown as taken, and sent through them as soon as they are.
// Without this it would go out as a plain form, and be lost where there is no signal. A plain script that waits for
// nothing. Where the others never come, the form goes out plain all the same.

(() => {
  if (performance.getEntriesByType("navigation")[0]?.domContentLoadedEventStart) return; // they are there
  const held = new Map();

  function hold(event) {
    if (!event.target.matches("form[data-send]")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (held.has(event.target)) return;
    held.set(event.target, event.submitter);
    event.submitter?.setAttribute("aria-busy", "true");
  }

  addEventListener("submit", hold, true);
  performance.mark("trayward-early");
  // By then every module of the page has run, its own and those that all pages have.
  document.addEventListener("DOMContentLoaded", () => {
    removeEventListener("submit", hold, true);
    for (const [form, button] of held) {
      button?.removeAttribute("aria-busy");
      form.requestSubmit(button);
    }
  });
})();
