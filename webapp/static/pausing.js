// What is typed is tried once typing pauses: after a moment where answers come at once, later where they take their time,
// so that a long macro is not proved anew for each letter.

const SHORTEST = 60; // ms
const LONGEST = 300;
const PART = 4; // of the time that the last answer took

let took = 0;
let pause = null;
const begun = new WeakMap();

const tries = (element) => element?.matches?.("[data-tries]");

document.addEventListener("input", ({ target }) => {
  const part = target.closest?.("[data-tries]");
  if (!part) return;
  clearTimeout(pause);
  pause = setTimeout(() => part.isConnected && part.dispatchEvent(new Event("paused")), Math.min(LONGEST, Math.max(SHORTEST, took / PART)));
});
document.addEventListener("htmx:beforeSend", ({ detail }) => {
  if (tries(detail.elt)) begun.set(detail.xhr, performance.now());
});
document.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (tries(detail.elt) && begun.has(detail.xhr)) took = performance.now() - begun.get(detail.xhr);
});
