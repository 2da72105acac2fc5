// The head of the drawing is dragged to another start, and a start that was asked for stays while steps are edited. From
// where it starts is asked of the server.

import { slide } from "./player.js";

let wanted = null; // the start last asked for, as the fields say it; null for the typical one

export function onPage(view, event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(view.getScreenCTM().inverse());
}

export function makeDraggable(player) {
  if (!player.root.querySelector("#start-there")) return;
  for (const { view, axes, grip } of player.views) {
    if (!grip) continue;
    view.ownerSVGElement.classList.add("draggable");
    grip.addEventListener("pointerdown", (event) => {
      if (event.button === 0) hold(player, view, axes, grip, event);
    });
  }
}

function hold(player, view, axes, grip, event) {
  event.preventDefault();
  player.pause();
  player.seek(0);
  const from = onPage(view, event);
  const begin = player.at(0).place;
  let to = begin;
  grip.setPointerCapture(event.pointerId);
  grip.classList.add("held");
  const move = (moved) => {
    const here = onPage(view, moved);
    to = { ...begin };
    [here.x - from.x, from.y - here.y].forEach((shift, index) => {
      const [low, high] = player.run.box[axes[index]];
      to[axes[index]] = Math.min(Math.max(begin[axes[index]] + shift, low), high);
    });
    for (const each of player.views) slide(each.head, each.axes.map((axis) => to[axis] - begin[axis]));
    fill(player, to);
  };
  const end = (done) => {
    grip.removeEventListener("pointermove", move);
    grip.removeEventListener("pointerup", end);
    grip.removeEventListener("pointercancel", end);
    grip.classList.remove("held");
    if (done.type === "pointercancel") {
      fill(player, begin);
      player.show();
    } else if (to !== begin) player.root.querySelector("#start-there").click();
  };
  grip.addEventListener("pointermove", move);
  grip.addEventListener("pointerup", end);
  grip.addEventListener("pointercancel", end);
}

function fill(player, place) {
  const { size } = player.run;
  for (const field of player.root.querySelectorAll("[data-axis]")) {
    const value = place[field.dataset.axis];
    if (value !== undefined) field.value = Number((value / size).toFixed(size === 1 ? 1 : 3));
  }
}

function shown() {
  const fields = document.querySelectorAll("#chosen-start [name^=at-]");
  return fields.length ? new URLSearchParams([...fields].map((field) => [field.name, field.value])).toString() : null;
}

// The answer to an edit that was under way may come after another start was asked for: then it is asked for again.
export function keepStart(request) {
  if (!request || request.path.includes("/drawing")) wanted = shown();
  else if (wanted === shown()) return;
  else if (wanted === null) document.getElementById("typical-start").click();
  else {
    for (const [name, value] of new URLSearchParams(wanted)) document.getElementById(name).value = value;
    document.getElementById("start-form").requestSubmit();
  }
}

document.addEventListener("htmx:configRequest", ({ detail }) => {
  if (detail.elt.id === "start-form") {
    const asked = [...new URLSearchParams(detail.formData)].filter(([name]) => name.startsWith("at-"));
    wanted = new URLSearchParams(asked).toString();
  } else if (detail.elt.id === "typical-start") wanted = null;
});
