// What is typed is tried once typing pauses: after a moment where answers come at once, later where they take their time,
// so that a long macro is not proved anew for each letter. While it is being saved it is not tried: until that is answered
// the page does not know what the server has, which would take it for one that another page has overtaken.

const SHORTEST = 60; // ms
const LONGEST = 300;
const PART = 4; // of the time that the last answer took

let took = 0;
let pause = null;
let waits = null; // what is to be tried once it is saved
const begun = new WeakMap();
const saving = new Set();

const tries = (element) => element?.matches?.("[data-tries]");
const saves = (element) => !tries(element) && element?.matches?.(":has([data-tries])");

function attempt(part) {
  waits = saving.size ? part : null;
  if (!waits && part.isConnected) part.dispatchEvent(new Event("paused"));
}

document.addEventListener("input", ({ target }) => {
  const part = target.closest?.("[data-tries]");
  if (!part) return;
  clearTimeout(pause);
  pause = setTimeout(attempt, Math.min(LONGEST, Math.max(SHORTEST, took / PART)), part);
});

document.addEventListener("htmx:beforeSend", ({ detail }) => {
  if (tries(detail.elt)) begun.set(detail.xhr, performance.now());
  if (!saves(detail.elt)) return;
  clearTimeout(pause); // its answer says as much
  saving.add(detail.xhr);
  waits = null;
});
document.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (tries(detail.elt) && begun.has(detail.xhr)) took = performance.now() - begun.get(detail.xhr);
  if (saving.delete(detail.xhr) && waits) attempt(waits);
});
