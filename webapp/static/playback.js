// What the drawing does beyond being looked at, put together: it is played, moved and zoomed, read off and dragged about.

import { Player } from "./player.js";
import { keepStart, makeDraggable } from "./starting.js";
import { look } from "./looking.js";
import { readOff } from "./reading.js";
import { takePoints } from "./points.js";
import "./together.js";

document.documentElement.classList.add("scripted"); // all of this is only there where it works

let player; // the one on the page now; a new one takes over when the drawing is swapped

function takeOver() {
  const root = document.getElementById("drawing");
  if (!root?.dataset.run || player?.root === root) return;
  const { rate, skips } = player ?? {};
  player?.pause();
  player = new Player(root);
  if (rate && player.part("rate")) {
    player.part("rate").value = String(rate);
    player.setRate(rate);
    player.part("skip-waits").checked = skips;
  }
  makeDraggable(player);
  look(root);
  readOff(root, player.run);
  takePoints(root, player.run);
}

document.addEventListener("htmx:afterSettle", ({ detail }) => {
  takeOver();
  keepStart(detail.requestConfig);
});
takeOver();
keepStart();
