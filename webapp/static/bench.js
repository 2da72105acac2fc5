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
