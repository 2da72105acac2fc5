// The bench beyond what htmx does: a step and its lines light up together, Alt and an arrow moves a step.

document.documentElement.classList.add("scripted");

function light(target) {
  const step = target instanceof Element ? target.closest("[data-step]")?.dataset.step : undefined;
  for (const element of document.querySelectorAll("[data-step]")) {
    element.classList.toggle("lit", element.dataset.step === step);
  }
}

for (const kind of ["pointerover", "focusin"]) {
  document.addEventListener(kind, (event) => light(event.target));
}

document.addEventListener("keydown", (event) => {
  const way = { ArrowUp: "up", ArrowDown: "down" }[event.key];
  const step = event.altKey && way && !event.target.matches?.("select") && event.target.closest?.(".op");
  if (!step) return;
  event.preventDefault();
  document.getElementById(`${way}-${step.dataset.step}`)?.click();
});

// Hints are swapped while their field stays, so that nothing is lost while typing; the field follows its hint here.
document.addEventListener("htmx:afterSettle", () => {
  for (const hint of document.querySelectorAll(".bench-form .hint")) {
    const field = document.querySelector(`[aria-describedby="${hint.id}"]`);
    if (hint.classList.contains("problem")) field?.setAttribute("aria-invalid", "true");
    else field?.removeAttribute("aria-invalid");
  }
});

// An answer to what was typed must not take a button away from under the mouse that is pressing it. What comes in
// during a press is held back and asked for again afterwards, unless the button has renewed the sheet itself.
let pressing = false;
let heldBack = false;

function askAgain() {
  document.getElementById("head-name")?.dispatchEvent(new Event("change", { bubbles: true }));
}

document.addEventListener("pointerdown", () => (pressing = true));
document.addEventListener("htmx:beforeSwap", (event) => {
  if (!pressing || event.detail.target.id !== "results") return;
  event.detail.shouldSwap = false;
  heldBack = true;
});
for (const kind of ["pointerup", "pointercancel"]) {
  document.addEventListener(kind, () => {
    pressing = false;
    if (heldBack) setTimeout(askAgain);
    heldBack = false;
  });
}

// What is on its way for a part of the page that has gone would bring back lines of steps that have changed since.
document.addEventListener("htmx:beforeCleanupElement", (event) => htmx.trigger(event.target, "htmx:abort"));
