// The bench beyond what htmx does: Alt and an arrow moves a step, Enter goes into a view, and which answers may still be shown.

document.documentElement.classList.add("scripted");

// What a button does to the steps is answered by a new sheet. Until that is there, another button would be of steps that are
// no longer these, which the server takes for another page's: so it does nothing. Steps that are moved by the keyboard go on.
let renewing; // what asked for the new sheet
const onward = []; // the ways that are still to be gone

const renewed = () => [undefined, 0, 4].includes(renewing?.readyState); // none, taken back, done
const moveOn = (way, step) => document.getElementById(`${way}-${step?.dataset.step}`)?.click();

document.addEventListener("keydown", (event) => {
  const way = { ArrowUp: "up", ArrowDown: "down" }[event.key];
  const step = event.altKey && way && !event.target.matches?.("select") && event.target.closest?.(".op");
  if (!step) return;
  event.preventDefault();
  if (renewed()) moveOn(way, step);
  else if (!event.repeat) onward.push(way);
});
document.addEventListener("htmx:confirm", (event) => {
  if (event.detail.target?.id === "sheet" && !renewed()) event.preventDefault();
});
document.addEventListener("htmx:afterSettle", () => {
  if (onward.length && renewed()) moveOn(onward.shift(), document.activeElement.closest(".op"));
});

// An answer brings every hint and line of the sheet; those that say what they said already stay as they are. The lines of
// the text may be thousands, and htmx would look each of them up for what is none of its own.
document.addEventListener("htmx:oobBeforeSwap", ({ detail }) => {
  const { fragment, target } = detail;
  const brought = fragment.firstElementChild ?? fragment;
  const lines = target.id === "lines";
  if (!lines && !brought.isEqualNode(target)) return;
  detail.shouldSwap = false;
  if (lines) target.replaceWith(brought);
});

// What chooses the right side stands before the sheet for the keyboard: Enter there goes into what is chosen. By their ids,
// for until an answer has settled a view may lack its class.
document.addEventListener("submit", (event) => {
  if (event.target.id !== "side") return;
  event.preventDefault();
  [...document.querySelectorAll("#drawing, #time, #slots")].find((each) => each.checkVisibility())?.focus();
});

// Hints are swapped while their field stays, so that nothing is lost while typing; the field follows its hint here.
let hinted = false;
document.addEventListener("htmx:afterSettle", () => {
  if (hinted) return; // told once for every part that was swapped
  hinted = true;
  queueMicrotask(() => {
    hinted = false;
    const fields = new Map([...document.querySelectorAll("[aria-describedby]")].map((field) => [field.getAttribute("aria-describedby"), field]));
    for (const hint of document.querySelectorAll(".bench-form .hint")) {
      const field = fields.get(hint.id);
      if (hint.classList.contains("problem")) field?.setAttribute("aria-invalid", "true");
      else field?.removeAttribute("aria-invalid");
    }
  });
});

// An answer to what was typed must not take a button away from under the mouse that is pressing it, nor while what it
// has asked for is on its way; one that was asked for before a drawing or another side was chosen knows nothing of it; and
// one that was asked for before the one that is shown is older. Such answers are held back and asked for again
// afterwards, unless the button has renewed the whole sheet itself.
let pressing = false;
let heldBack = false;
let drawings = 0;
let asked = 0; // requests so far
let shown = 0; // which of them is shown
let last = ""; // the answer that the results stand for: what comes to the same leaves them as they are
const underway = new Set(); // forms and links of the results that wait for their answer
const sent = new WeakMap(); // what was sent last for an element
const askedAt = new WeakMap(); // what had been chosen when something was asked, and which request it was
const side = () => document.querySelector("#side :checked")?.value;

function busy() {
  for (const element of underway) if (!element.isConnected) underway.delete(element);
  return pressing || underway.size > 0;
}

function askAgain() {
  if (!heldBack || busy()) return;
  heldBack = false;
  document.getElementById("head-name")?.dispatchEvent(new Event("change", { bubbles: true }));
}

function ofTheResults(element) {
  return element instanceof Element && element.id !== "results" && element.id !== "safe-start" && element.closest("#results") !== null;
}

document.addEventListener("pointerdown", () => (pressing = true));
for (const kind of ["pointerup", "pointercancel"]) {
  document.addEventListener(kind, () => {
    pressing = false;
    setTimeout(askAgain);
  });
}
// Ends what is on its way for a part of the page that goes. It is no error: htmx by itself would call it one on the console.
function end(element) {
  const detail = sent.get(element);
  if (!detail) return;
  const told = { bubbles: true, detail: { ...detail, successful: false, failed: true } };
  detail.xhr.onabort = () => element.dispatchEvent(new CustomEvent("htmx:afterRequest", told));
  detail.xhr.abort();
}

document.addEventListener("htmx:beforeSend", ({ detail }) => {
  sent.set(detail.elt, detail);
  if (detail.target.id === "sheet") renewing = detail.xhr;
  // Another answer may renew what this one is for: then it is for what stands there by now. In a part that has gone it would
  // be put where nobody sees it, unasked whether it is the older one, while its hints and lines would still be shown.
  const loaded = detail.xhr.onload;
  detail.xhr.onload = () => {
    if (!detail.target.isConnected) detail.target = document.getElementById(detail.target.id) ?? detail.target;
    loaded.call(detail.xhr);
  };
});
document.addEventListener("htmx:beforeRequest", ({ detail }) => {
  if (detail.elt.closest("#operations")) end(document.getElementById("safe-start")); // it is of lines that have changed
  askedAt.set(detail.xhr, { drawings, side: side(), at: (asked += 1) });
  if (ofTheResults(detail.elt)) underway.add(detail.elt);
});
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  if (detail.target.id !== "results") return;
  const of = askedAt.get(detail.xhr);
  if (!busy() && of.drawings === drawings && of.side === side() && of.at > shown) {
    shown = of.at;
    // Unless they still wait for the safe start: its search was ended for this, and begins anew with them.
    if (last === (last = detail.serverResponse) && !document.querySelector("#safe-start[hx-post]")) detail.shouldSwap = false;
    return;
  }
  detail.shouldSwap = false;
  heldBack = true;
  // What this page has saved itself it has seen all the same: it would be asked about it as if another page had.
  const seen = new DOMParser().parseFromString(detail.serverResponse, "text/html").querySelector("#base");
  if (seen) document.getElementById("base").value = seen.value;
});
document.addEventListener("htmx:afterSwap", ({ detail }) => {
  if (detail.target.id === "drawing") {
    drawings += 1;
    last = "";
    document.getElementById("side-drawing").checked ||= !document.getElementById("side-speeds").checked;
  }
  if (detail.target.id === "sheet") last = heldBack = false; // it has results of its own
});
document.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (detail.elt.id === "safe-start") detail.elt.classList.toggle("stopped", !detail.successful);
  underway.delete(detail.elt);
  setTimeout(askAgain);
});

// What is on its way for a part of the page that has gone would bring back lines of steps that have changed since.
document.addEventListener("htmx:beforeCleanupElement", (event) => end(event.target));
