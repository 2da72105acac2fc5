// What a person has opened, typed or reached stays when a part of the bench is renewed: folds by their ids, a reason
// that is being written, how far each part was scrolled, and the place of the focus, which would otherwise fall back to
// the top of the page.

const FOCUSABLE = "a[href], button:enabled, summary, input:enabled, select:enabled, textarea:enabled";
const WHOLE = new Set(["results", "sheet", "main"]); // too large to look in for the same thing again
const SCROLLED = ".bench-ops, .bench-found, .bench-text, .side-view";

let kept = null;

// A step that an answer has opened stays the one that is open, and so does the list of blocks that it has closed.
function opened() {
  return [...document.querySelectorAll(":is(#sheet, #results) details[id][open]:not(#adder, .op details)")].map((fold) => fold.id);
}

function written() {
  const fields = [...document.querySelectorAll("#sheet .accept input[id]")];
  return fields.filter((field) => field.value !== field.defaultValue).map(({ id, value }) => ({ id, value }));
}

const scrolled = () => [...document.querySelectorAll(SCROLLED)].map(({ scrollTop }) => scrollTop);

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

document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  kept = {
    opened: opened(),
    step: document.querySelector(".op details[open]")?.id,
    written: written(),
    scrolled: scrolled(),
    place: place(document.activeElement),
  };
  // Old and new sheet are there together for a moment: without this the step that is open closes the one that is to be.
  if (detail.target.id === "sheet") for (const fold of document.querySelectorAll(".op details")) fold.removeAttribute("name");
});

document.addEventListener("htmx:afterSwap", () => {
  if (!kept) return;
  for (const id of kept.opened) document.getElementById(id)?.setAttribute("open", "");
  if (kept.step && !document.querySelector(".op details[open]")) document.getElementById(kept.step)?.setAttribute("open", "");
  for (const { id, value } of kept.written) {
    const field = document.getElementById(id);
    if (field && !field.hasAttribute("aria-invalid")) field.value = value;
  }
  document.querySelectorAll(SCROLLED).forEach((part, at) => { part.scrollTop = kept.scrolled[at] ?? 0; });
  if (kept.place && document.activeElement === document.body) goBackTo(kept.place);
  kept = null;
});
