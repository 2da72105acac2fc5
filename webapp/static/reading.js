// Values read off the drawing: what the pointer is on, or what the keys N and P go to, one piece of path after another and
// then what stands on the table. The words are those of the page; where on a piece the pointer is, is between its ends.

import { light } from "./together.js";

const NEAR = 12; // CSS pixels from a piece of path that still are on it (our choice)
const STAYS = 400; // milliseconds in which the pointer may get from a thing to its words (our choice)

let tip, frame, run, things, at, leaving;

// Titles become words of our own, or the browser would put its own beside them.
function takeTitles() {
  for (const title of frame.querySelectorAll(".sheet title")) {
    title.parentElement.dataset.says = title.textContent;
    title.remove();
  }
}

const points = (piece) => [...piece.querySelector("path").getAttribute("d").matchAll(/(-?[\d.]+) (-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]);

// The nearest piece of path, and how far along: the part of its strokes, and where on the page.
function nearest(event) {
  let best = { far: Infinity };
  for (const paths of frame.querySelectorAll(".view .paths")) best = nearer(paths, event, best);
  return best.piece ? best : null;
}

function nearer(paths, event, best) {
  const matrix = paths.getScreenCTM();
  const here = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
  best.far = Math.min(best.far, NEAR / matrix.a);
  for (const piece of paths.querySelectorAll("[data-piece]")) {
    const trail = points(piece);
    for (let i = 0; i + 1 < trail.length; i += 1) {
      const [[x, y], [u, v]] = [trail[i], trail[i + 1]];
      const square = (u - x) ** 2 + (v - y) ** 2;
      const part = square > 0 ? Math.min(Math.max(((here.x - x) * (u - x) + (here.y - y) * (v - y)) / square, 0), 1) : 0;
      const far = Math.hypot(x + (u - x) * part - here.x, y + (v - y) * part - here.y);
      if (far < best.far) best = { far, piece, along: (i + part) / (trail.length - 1), on: [x + (u - x) * part, y + (v - y) * part] };
    }
  }
  return best;
}

const words = (piece) => document.querySelector(`#path-words [data-piece="${piece.dataset.piece}"]`);

// Coordinates of a point of a piece: the two that the view shows, and the third between its ends.
function coordinates(piece, along, on) {
  const ends = words(piece)?.dataset.ends.split(" ").map(Number);
  if (!ends) return "";
  const place = [0, 1, 2].map((axis) => ends[axis] + (ends[axis + 3] - ends[axis]) * along);
  const view = piece.closest(".view");
  const [x, y] = view.dataset.tip.split(" ").map(Number);
  if (on) {
    place["xyz".indexOf(view.dataset.across)] = on[0] - x;
    place["xyz".indexOf(view.dataset.up)] = y - on[1];
  }
  const digits = run.size === 1 ? 2 : 3;
  const told = place.map((value, axis) => `${"XYZ"[axis]} ${(value / run.size).toFixed(digits)}`).join("  ");
  return `${on ? "Here" : "Ends at"} ${told} ${run.unit}`;
}

function show(thing, text, left, top) {
  clearTimeout(leaving);
  tip.textContent = text;
  tip.hidden = false;
  const room = frame.getBoundingClientRect();
  tip.style.left = `${Math.max(0, Math.min(left - room.left + 14, room.width - tip.offsetWidth))}px`;
  const below = top - room.top + 18;
  tip.style.top = `${below + tip.offsetHeight > room.height ? Math.max(0, top - room.top - tip.offsetHeight - 14) : below}px`;
  for (const each of frame.querySelectorAll(".read")) each.classList.remove("read");
  thing.classList.add("read");
}

function hide() {
  clearTimeout(leaving);
  if (!tip?.isConnected) return; // the drawing has gone meanwhile
  tip.hidden = true;
  for (const each of frame.querySelectorAll(".read")) each.classList.remove("read");
}

function sentence(piece, along, on) {
  const said = words(piece)?.textContent.trim() ?? `Line ${piece.dataset.line}`;
  return `${said} ${coordinates(piece, along, on)}`.replace(/\s+/g, " ").trim();
}

function pointed(event) {
  if (event.target.closest(".tip") || event.buttons) return clearTimeout(leaving);
  const found = nearest(event);
  const other = event.target.closest("[data-says]");
  tip.setAttribute("aria-live", "off");
  if (found) {
    show(found.piece, sentence(found.piece, found.along, found.on), event.clientX, event.clientY);
    light(found.piece);
  } else if (other && !other.matches(".travel")) show(other, other.dataset.says, event.clientX, event.clientY);
  else leave();
}

function leave() {
  clearTimeout(leaving);
  leaving = setTimeout(hide, STAYS);
}

function step(by) {
  if (!things.length) return;
  at = (at + by + things.length) % things.length;
  const thing = things[at];
  const { left, right, top, bottom } = thing.getBoundingClientRect();
  tip.setAttribute("aria-live", "polite");
  const text = thing.matches("[data-piece]") ? sentence(thing, 1) : thing.dataset.says;
  show(thing, text, (left + right) / 2, (top + bottom) / 2);
  light(thing.matches("[data-piece]") ? thing : null);
}

function key(event) {
  if (!tip?.isConnected) return;
  if (event.key === "Escape" && !tip.hidden) hide();
  else if (event.target === frame && !event.ctrlKey && !event.metaKey && !event.altKey && /^[np]$/i.test(event.key)) step(event.key.toLowerCase() === "n" ? 1 : -1);
  else return;
  event.preventDefault();
}

export function readOff(root, played) {
  frame = root.querySelector(".viewport");
  tip = frame?.querySelector(".tip");
  if (!tip) return;
  run = played;
  at = -1;
  takeTitles();
  const seen = new Set(); // each piece once, in the first view that shows it
  const pieces = [...frame.querySelectorAll(".paths [data-piece]")].filter(({ dataset }) => !seen.has(dataset.piece) && seen.add(dataset.piece));
  pieces.sort((one, other) => one.dataset.piece - other.dataset.piece);
  things = [...pieces, ...frame.querySelectorAll(".view.plan :is(.table, .keep-out)[data-says]")];
  frame.addEventListener("pointermove", pointed);
  frame.addEventListener("pointerdown", pointed);
  frame.addEventListener("pointerleave", leave);
}

document.addEventListener("keydown", key); // the words go away by Escape wherever the focus is
