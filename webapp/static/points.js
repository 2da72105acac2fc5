// Points that a step goes to are dragged on the drawing: the field of the step changes as if it had been typed into, and
// what a formula is relative to stays in it. What has changed is said beside the drawing until the next time.

import { hold, SIZE, STEP } from "./holding.js";
import { rowShifted, shifted } from "./shifting.js";

const FAR = 10; // how much more with Shift
const KEYS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowDown: [1, -1], ArrowUp: [1, 1] }; // across or up the view

let said = ""; // stays when the drawing is drawn anew
let reached = null; // the point that has the focus, which stays as well

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
function type(found, kinds = ["input", "change"]) {
  for (const { field, value } of found) field.value = value;
  for (const kind of kinds) found[0]?.field.dispatchEvent(new Event(kind, { bubbles: true }));
}

// By keys it is typed only: it is saved once no more of them come.
function key(event, handle, root, units, written) {
  const [way, sign] = KEYS[event.key] ?? [];
  if (way === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  const { across, up } = handle.closest(".view").dataset;
  const found = changes(handle, { [[across, up][way]]: sign * STEP[written] * (event.shiftKey ? FAR : 1) }, units, written);
  if (!found.length) return;
  say(root, `${inWords(handle, found)} Undo takes it back.`);
  type(found, ["input"]);
}

// Each point is reached by Tab, in every view that shows it.
function reachable(handle, name) {
  const { step, row } = handle.dataset;
  const of = row === undefined ? `Where step ${step} goes` : `Point ${Number(row) + 1} of step ${step}`;
  for (const [key, value] of Object.entries({ tabindex: 0, role: "button", "aria-label": `${of}: arrow keys move it` })) handle.setAttribute(key, value);
  handle.ownerSVGElement.setAttribute("role", "group"); // a picture has nothing in it that is reached
  handle.addEventListener("focus", () => (reached = name));
  handle.addEventListener("blur", () => setTimeout(() => reached === name && handle.isConnected && (reached = null))); // else it goes
  if (reached === name) handle.focus({ preventScroll: true });
}

export function takePoints(root, run) {
  if (said) say(root, said);
  const written = run.size === 1 ? "mm" : "inch";
  for (const handle of root.querySelectorAll(".handle")) {
    const units = handle.closest(".handles").dataset.units;
    reachable(handle, `${handle.closest(".view").id} ${handle.dataset.step} ${handle.dataset.row ?? ""}`);
    handle.addEventListener("keydown", (event) => key(event, handle, root, units, written));
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
