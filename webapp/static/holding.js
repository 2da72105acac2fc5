// Something of a drawing is taken hold of and moved: an outline goes along with the pointer in round steps, Escape puts it
// back. What moving it means is for those who know what it is: nothing else changes here.

export const STEP = { mm: 1, inch: 0.05 }; // what a way is rounded to (our choice)
export const SIZE = { mm: 1, inch: 25.4 }; // a drawing is in mm

const SVG = "http://www.w3.org/2000/svg";

let held = null;

export const round = (value, units) => Math.round(value / STEP[units]) * STEP[units];

// Takes hold of an element of a view. ``moving`` is told the way so far and ``dropped`` where it ends: by axis, in units.
export function hold(event, element, units, { moving, dropped }) {
  event.preventDefault();
  drop(false); // a second finger lets go of what the first has taken
  const view = element.closest(".view");
  const { x, y, width, height } = element.getBBox();
  const ghost = document.createElementNS(SVG, "rect");
  for (const [key, value] of Object.entries({ x, y, width, height, class: "phantom ghost" })) ghost.setAttribute(key, value);
  view.append(ghost);
  held = { view, ghost, units, moving, dropped, scale: view.getScreenCTM().inverse(), from: [event.clientX, event.clientY], by: {} };
}

function move(event) {
  if (!held) return;
  const { view, ghost, units, scale, from } = held;
  const ways = [scale.a * (event.clientX - from[0]), -scale.d * (event.clientY - from[1])];
  const [across, up] = ways.map((way) => round(way / SIZE[units], units));
  held.by = { [view.dataset.across]: across, [view.dataset.up]: up };
  ghost.setAttribute("transform", `translate(${across * SIZE[units]} ${-up * SIZE[units]})`);
  held.moving?.(held.by, event);
}

function drop(keep) {
  if (!held) return;
  const { ghost, dropped, by } = held;
  held = null;
  ghost.remove();
  dropped(keep ? by : {});
}

document.addEventListener("pointermove", move);
document.addEventListener("pointerup", () => drop(true));
document.addEventListener("pointercancel", () => drop(false));
document.addEventListener("touchstart", ({ touches }) => touches.length > 1 && drop(false)); // two fingers look closer
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || !held) return;
  event.preventDefault();
  drop(false);
});
