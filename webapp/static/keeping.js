// What a person has opened, typed or reached stays when a part of the bench is renewed: folds by their ids, a reason
// that is being written, and the place of the focus, which would otherwise fall back to the top of the page.

const FOCUSABLE = "a[href], button:enabled, summary, input:enabled, select:enabled, textarea:enabled";
const WHOLE = new Set(["results", "sheet", "main"]); // too large to look in for "the same thing again"

let kept = null;

function opened() {
  return [...document.querySelectorAll("#sheet details[id][open]")].map((fold) => fold.id);
}

function written() {
  const fields = [...document.querySelectorAll("#sheet .accept input[id]")];
  return fields.filter((field) => field.value !== field.defaultValue).map(({ id, value }) => ({ id, value }));
}

// An element as it can be found again: by its own id, or by what it says within the nearest part that has an id.
function place(element) {
  if (element === document.body) return null;
  const within = [];
  for (let part = element; (part = part.parentElement?.closest("[id]")); ) within.push(part.id);
  return { within, tag: element.tagName, says: element.textContent, itself: element.id };
}

function goBackTo({ within, tag, says, itself }) {
  if (itself) document.getElementById(itself)?.focus({ preventScroll: true }); // it may be disabled now
  const part = within.map((id) => document.getElementById(id)).find(Boolean);
  if (document.activeElement === document.body && part && !WHOLE.has(part.id)) {
    const there = [...part.querySelectorAll(FOCUSABLE)];
    const same = there.find((each) => each.tagName === tag && each.textContent === says);
    (same ?? there[0])?.focus({ preventScroll: true });
  }
  if (document.activeElement === document.body) document.getElementById("verdict")?.focus({ preventScroll: true });
}

document.addEventListener("htmx:beforeSwap", () => {
  kept = { opened: opened(), written: written(), place: place(document.activeElement) };
});

document.addEventListener("htmx:afterSwap", () => {
  if (!kept) return;
  for (const id of kept.opened) document.getElementById(id)?.setAttribute("open", "");
  for (const { id, value } of kept.written) {
    const field = document.getElementById(id);
    if (field && !field.hasAttribute("aria-invalid")) field.value = value;
  }
  if (kept.place && document.activeElement === document.body) goBackTo(kept.place);
  kept = null;
});

// What was typed last may not have been saved when the page is left: it is sent off behind it.
let unsaved = false;

document.addEventListener("input", ({ target }) => {
  if (target.closest?.("#operations")) unsaved = true;
});
document.addEventListener("htmx:beforeRequest", ({ detail }) => {
  if (detail.requestConfig.verb === "post" && /^\/bench\/[^/]+(\/save)?$/.test(detail.pathInfo.requestPath)) unsaved = false;
});
window.addEventListener("pagehide", () => {
  const form = document.getElementById("operations");
  if (unsaved && form) navigator.sendBeacon(`${form.action}/save`, new FormData(form));
});
