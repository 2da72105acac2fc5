// The operation sheet by hand: a line opens where the keyboard is, arrows go from line to line, a step is dragged by its
// number, and what there is to add is found by typing. Without scripts all of it has a button, a fold or a list.

const lines = () => [...document.querySelectorAll(".op summary")];
const LEAVES = "#adder, #copier, #chooser, #because";

// What a button of the sheet would do, as if one were pressed; htmx then renews the sheet, and this button goes with it.
function press(does) {
  const button = document.createElement("button");
  Object.assign(button, { name: "do", value: does, hidden: true });
  document.getElementById("operations").append(button);
  button.click();
}

// By the mouse a line opens when it is pressed; by the keyboard as soon as it is reached. Enter there goes on into its form:
// whoever presses it means to open the line, and it would close.
let reached = null;
document.addEventListener("focusin", ({ target }) => {
  if (!target.matches?.(".op summary:focus-visible")) return;
  reached = target.parentElement.open ? null : target;
  target.parentElement.open = true;
});

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const line = event.target.closest?.(".op summary");
  const all = line ? lines() : [];
  const at = all.indexOf(line);
  const to = { ArrowDown: all[at + 1], ArrowUp: all[at - 1], Home: all[0], End: all.at(-1) }[event.key];
  if (line && line === reached && event.key === "Enter") {
    reached = null;
    event.preventDefault();
    line.parentElement.querySelector(".op-form :is(input, select, textarea, button:enabled)")?.focus();
  }
  if (line && to) {
    event.preventDefault();
    to.focus();
  }
});

// A step is carried by its number.
let held = null;

function over({ clientX, clientY }) {
  const step = document.elementFromPoint(clientX, clientY)?.closest(".op[data-step]");
  if (!step || step === held.step) return null;
  const { top, height } = step.getBoundingClientRect();
  return { step, before: clientY < top + height / 2 };
}

function mark(place) {
  for (const each of document.querySelectorAll(".drop-before, .drop-after")) each.classList.remove("drop-before", "drop-after");
  place?.step.classList.add(place.before ? "drop-before" : "drop-after");
}

document.addEventListener("pointerdown", (event) => {
  const grip = event.target.closest?.(".op-number");
  if (!grip || event.button !== 0) return;
  held = { step: grip.closest(".op"), from: event.clientY, moved: false };
  grip.setPointerCapture(event.pointerId);
});

document.addEventListener("pointermove", (event) => {
  if (!held || (!held.moved && Math.abs(event.clientY - held.from) < 5)) return;
  held.moved = true;
  held.step.classList.add("dragged");
  const place = over(event);
  place?.step.scrollIntoView({ block: "nearest" });
  mark(place);
});

document.addEventListener("pointerup", (event) => {
  if (!held) return;
  const place = held.moved ? over(event) : null;
  const from = Number(held.step.dataset.step);
  held.step.classList.remove("dragged");
  mark(null);
  const { moved } = held;
  held = null;
  if (place) {
    const there = Number(place.step.dataset.step);
    const to = there + (place.before ? 0 : 1) - (there > from ? 1 : 0);
    if (to !== from) press(`move ${from} ${to}`);
  }
  if (!moved) return;
  const still = (click) => click.preventDefault(); // what was carried is not opened as well
  document.addEventListener("click", still, true);
  setTimeout(() => document.removeEventListener("click", still, true));
});
document.addEventListener("pointercancel", () => {
  held?.step.classList.remove("dragged");
  mark(null);
  held = null;
});

// The blocks are fetched when somebody wants one. Without an answer there is the plain list of their names.
async function fill() {
  const list = document.getElementById("blocks");
  if (!list || list.firstElementChild || !list.closest("details").open) return;
  const answer = await fetch(list.dataset.from).catch(() => null);
  const text = answer?.ok ? await answer.text().catch(() => "") : "";
  if (list.firstElementChild) return;
  list.innerHTML = text;
  document.querySelector("#adder .unscripted").classList.toggle("needed", text === "");
  if (text) seek(document.getElementById("find").value);
}

fill();

// What is typed has to be in the title or the explanation of a block, word by word.
function seek(typed) {
  const words = typed.toLowerCase().split(/\s+/).filter(Boolean);
  for (const item of document.querySelectorAll("#blocks li")) {
    const says = item.textContent.toLowerCase();
    item.hidden = !words.every((word) => says.includes(word));
  }
  for (const family of document.querySelectorAll("#blocks section")) family.hidden = !family.querySelector("li:not([hidden])");
  const none = !document.querySelector("#blocks li:not([hidden])");
  document.getElementById("none-found").textContent = none ? `No block says “${typed}”. Own lines take anything.` : "";
}

document.addEventListener("input", ({ target }) => {
  if (target.id === "find") seek(target.value);
});

const found = () => [...document.querySelectorAll("#blocks li:not([hidden]) button")];

// Whoever types a name wants that block, not one that mentions it, and need not wait for the list.
async function take(typed) {
  await fill();
  const named = (has) => found().find(({ textContent: says }) => says.toLowerCase()[has](typed.trim().toLowerCase()));
  (named("startsWith") ?? named("includes") ?? found()[0])?.click();
}

document.addEventListener("keydown", (event) => {
  const { target, key } = event;
  const there = found();
  if (target.id === "find" && key === "Enter") {
    event.preventDefault();
    take(target.value);
  } else if ((target.id === "find" || target.closest?.("#blocks")) && (key === "ArrowDown" || key === "ArrowUp")) {
    event.preventDefault();
    const at = there.indexOf(target) + (key === "ArrowDown" ? 1 : -1);
    (there[at] ?? document.getElementById("find")).focus();
  }
});

document.addEventListener(
  "toggle",
  ({ target }) => {
    if (target.open && target.matches(".op details")) target.scrollIntoView({ block: "nearest" });
    if (target.id === "adder") fill();
    if (target.id === "adder" && target.open && target.contains(document.activeElement)) document.getElementById("find").focus();
  },
  true,
);

// What lies over the page goes away again: by Escape, or when something else is pressed.
document.addEventListener("keydown", (event) => {
  const leaf = event.key === "Escape" && [...document.querySelectorAll(LEAVES)].find((each) => each.open);
  if (!leaf) return;
  const inside = leaf.contains(document.activeElement);
  leaf.open = false;
  if (inside) leaf.querySelector("summary").focus();
});
document.addEventListener("pointerdown", ({ target }) => {
  for (const leaf of document.querySelectorAll(LEAVES)) if (leaf.open && !leaf.contains(target)) leaf.open = false;
});
