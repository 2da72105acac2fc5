// Points that a step goes to are dragged on the drawing: the field of the step changes as if it had been typed into, and
// what a formula is relative to stays in it. What has changed is said beside the drawing until the next time.

import { hold, SIZE } from "./holding.js";
import { rowShifted, shifted } from "./shifting.js";

let said = ""; // stays when the drawing is drawn anew

function say(root, text) {
  said = text;
  const place = root.querySelector("#dragged");
  if (place) place.textContent = text;
}

// The fields that a way changes, each with what it comes to; none where the way is none.
function changes({ dataset: { step, row, axes } }, by, units, written) {
  const ways = Object.fromEntries(Object.entries(by).filter(([axis, way]) => way && axes.includes(axis)).map(([axis, way]) => [axis, way * SIZE[written]]));
  if (!Object.keys(ways).length) return [];
  if (row !== undefined) {
    const field = document.getElementById(`step-${step}-points`);
    return field ? [{ field, name: `point ${Number(row) + 1}`, value: rowShifted(field.value, Number(row), ["x", "y"].map((axis) => ways[axis]), units, written) }] : [];
  }
  return Object.entries(ways).flatMap(([axis, way]) => {
    const field = document.getElementById(`step-${step}-${axis}`);
    return field?.value.trim() ? [{ field, name: axis.toUpperCase(), value: shifted(field.value, way, units, written) }] : [];
  });
}

const shown = ({ field, value }, row) => (row === undefined ? value : value.split("\n").filter((line) => line.trim())[row]);
const relative = (text) => /[a-z_]+\.[a-z]/i.test(text);

function inWords(handle, found) {
  const { step, row } = handle.dataset;
  const each = found.map((change) => {
    const text = shown(change, row);
    return `${change.name} ${text}${relative(text) ? ", still relative to the machine" : ""}`;
  });
  return `Step ${step}: ${each.join("; ")}.`;
}

// As if typed, and left: all of it is one change.
function type(found) {
  for (const { field, value } of found) field.value = value;
  for (const kind of ["input", "change"]) found[0]?.field.dispatchEvent(new Event(kind, { bubbles: true }));
}

export function takePoints(root, run) {
  if (said) say(root, said);
  const written = run.size === 1 ? "mm" : "inch";
  for (const handle of root.querySelectorAll(".handle")) {
    const units = handle.closest(".handles").dataset.units;
    const before = said;
    handle.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      hold(event, handle, written, {
        moving: (by) => {
          const found = changes(handle, by, units, written);
          say(root, found.length ? inWords(handle, found) : before);
        },
        dropped: (by) => {
          const found = changes(handle, by, units, written);
          say(root, found.length ? `${inWords(handle, found)} Undo takes it back.` : before);
          type(found);
        },
      });
    });
  }
}
