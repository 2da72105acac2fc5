// A finding, its step, its line and its pieces of path light up together, whichever of them is pointed at or has the focus.

const ANY = "[data-finding], [data-line], [data-step]";

function belongs({ finding, line, step }, source) {
  if (finding && source.finding) return finding === source.finding;
  const byStep = step !== undefined && step === source.step;
  if (finding && source.line && line) return line === source.line;
  if (line && source.line) return line === source.line;
  return byStep;
}

// Lights all that belongs to an element, nothing where there is none.
export function light(element) {
  const source = element?.dataset;
  for (const each of document.querySelectorAll(ANY)) {
    each.classList.toggle("lit", source !== undefined && belongs(each.dataset, source));
  }
}

const owner = (target) => (target instanceof Element ? target.closest(ANY) : null);

// Where nothing is pointed at, what has the focus stays lit.
for (const kind of ["pointerover", "focusin", "line-reached"]) {
  document.addEventListener(kind, ({ target }) => light(owner(target) ?? owner(document.activeElement)));
}

// What an answer brings is lit as what it replaces was.
let due = false;
document.addEventListener("htmx:afterSettle", () => {
  if (due) return; // told once for every part that was swapped
  due = true;
  setTimeout(() => {
    due = false;
    light(owner([...document.querySelectorAll(":hover")].at(-1)) ?? owner(document.activeElement));
  });
});
