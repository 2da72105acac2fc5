// Boxes and work zeros are moved on the drawing of a sheet, with the pointer or with the arrow keys of a button beside
// their fields. Only the fields change; the server draws what they say, and nothing is kept before a part is saved.

import { hold, STEP } from "./holding.js"; // a step is what one arrow key moves by, too

const FAR = 10; // how much more with Shift
const NEAR = 14; // CSS pixels within which a work zero is taken hold of
const KEYS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowDown: [1, -1], ArrowUp: [1, 1], PageDown: [2, -1], PageUp: [2, 1] };

const forms = () => [...document.querySelectorAll("form.values[data-units]")];
const field = (form, name) => form.querySelector(`[name="${name}"]`);
const written = (value) => String(Number(value.toFixed(5)));
const number = (input) => (input && input.value.trim() !== "" ? Number(input.value.replace("\u2212", "-")) : NaN);

// The fields of each axis that move together: both corners of a box, or both ends of a zero's range.
function ofBox(form, base) {
  return [0, 1, 2].map((axis) => ["from", "to"].map((corner) => field(form, `${base}.${corner}.${axis}`)));
}

function ofZero(form, base) {
  return ["x", "y", "z"].map((axis) => [0, 1].map((end) => field(form, `${base}.${axis}.${end}`)).filter(Boolean));
}

function boxNamed(name) {
  for (const form of forms()) {
    const named = [...form.querySelectorAll('[name$=".name"]')].filter((each) => each.value === name);
    const base = named.map((each) => each.name.slice(0, -5)).find((each) => field(form, `${each}.from.0`));
    if (base) return { form, axes: ofBox(form, base) };
  }
  return null;
}

// A setup's own zero holds in place of the sheet's, axis by axis.
function zeroNamed(system) {
  const found = [];
  for (const form of forms()) {
    for (const input of form.querySelectorAll(`[name$="work.${system}.x.0"]`)) found.push([form, input.name.slice(0, -4)]);
  }
  found.sort(([, one], [, other]) => other.startsWith("setup.") - one.startsWith("setup."));
  if (!found.length) return null;
  const axes = [0, 1, 2].map((axis) => {
    const layers = found.map(([form, base]) => ofZero(form, base)[axis]);
    return layers.find((inputs) => inputs.some((each) => !Number.isNaN(number(each)))) ?? [];
  });
  return { form: found[0][0], axes };
}

function move({ form, axes }, axis, by) {
  const inputs = axes[axis].filter((each) => !Number.isNaN(number(each)));
  for (const input of inputs) input.value = written(number(input) + by);
  return inputs.length > 0;
}

function told(thing) {
  const touched = thing.axes.flat()[0] ?? thing.form.elements[0];
  touched.closest("details.part")?.setAttribute("open", "");
  touched.dispatchEvent(new Event("change", { bubbles: true }));
}

// What is under the pointer: the zero of a work system before a box, and the nearest of those.
function under(event) {
  const near = [...document.querySelectorAll(".sheet-drawing .work-zero")].find((zero) => {
    const mark = zero.querySelector(".zero-quarters") ?? zero;
    const { left, right, top, bottom } = mark.getBoundingClientRect();
    return Math.hypot((left + right) / 2 - event.clientX, (top + bottom) / 2 - event.clientY) < NEAR;
  });
  const named = near?.querySelector(".zero-name")?.textContent;
  if (named) return { element: near, thing: zeroNamed(named) };
  const body = document.elementsFromPoint(event.clientX, event.clientY).find((each) => each.matches(".keep-out > .body"));
  return body ? { element: body, thing: boxNamed(body.parentElement.dataset.name) } : null;
}

document.addEventListener("pointerdown", (event) => {
  if (event.button !== 0 || !event.target.closest?.(".sheet-drawing")) return;
  const { element, thing } = under(event) ?? {};
  if (!thing) return;
  const dropped = (by) => {
    const moved = Object.entries(by).map(([axis, way]) => way !== 0 && move(thing, "xyz".indexOf(axis), way));
    if (moved.some(Boolean)) told(thing);
  };
  hold(event, element, thing.form.dataset.units, { dropped });
});

// A box that has no corners yet is put in the middle, where the form says that is.
function place(form, axes) {
  const middle = JSON.parse(form.dataset.middle ?? "null");
  if (!middle || axes.flat().some((each) => !Number.isNaN(number(each)))) return;
  axes.forEach(([low, high], axis) => {
    low.value = written(middle.from[axis]);
    high.value = written(middle.to[axis]);
  });
}

function addMovers() {
  for (const form of forms()) {
    for (const group of form.querySelectorAll("fieldset:not([data-moves]) > .fields:is(.corners, .ranges)")) {
      const fieldset = group.parentElement;
      const button = document.createElement("button");
      fieldset.dataset.moves = "";
      Object.assign(button, { type: "button", className: "quiet mover", textContent: "Move with the arrow keys" });
      button.title = "Arrow keys: X and Y; Page Up and Page Down: Z; with Shift ten times as far. Enter puts a new box in the middle.";
      group.after(button);
    }
  }
}

function ofButton(button) {
  const form = button.closest("form");
  const first = button.previousElementSibling.querySelector("input.number");
  const base = first.name.split(".").slice(0, -2).join(".");
  const box = button.previousElementSibling.matches(".corners");
  return { form, axes: box ? ofBox(form, base) : ofZero(form, base) };
}

document.addEventListener("click", (event) => {
  if (!event.target.matches?.(".mover")) return;
  const thing = ofButton(event.target);
  if (event.target.previousElementSibling.matches(".corners")) place(thing.form, thing.axes);
  told(thing);
});

document.addEventListener("keydown", (event) => {
  if (!event.target.matches?.(".mover") || !(event.key in KEYS)) return;
  event.preventDefault();
  const thing = ofButton(event.target);
  const [axis, sign] = KEYS[event.key];
  if (move(thing, axis, sign * STEP[thing.form.dataset.units] * (event.shiftKey ? FAR : 1))) told(thing);
});

document.addEventListener("htmx:afterSettle", addMovers);
addMovers();
