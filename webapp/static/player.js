// One run of a macro: table and head of the drawing move along the samples of the plan that the page carries. No motion
// is worked out here: between two samples it follows the curve that came with them.

import { stands, unpacked } from "./run.js";
import { draw, forget, whatGoesOn } from "./letting_go.js";

const VIEWS = "#elevations .view";
const still = matchMedia("(prefers-reduced-motion: reduce)");

export class Player {
  constructor(root) {
    this.root = root;
    this.run = unpacked(JSON.parse(root.dataset.run));
    this.time = 0;
    this.rate = 1;
    this.begun = null; // when it would have begun to be here by now; null while it stands
    this.passed = -1; // the last of the waits that it has stopped at
    this.until = null; // where it comes to rest after letting go
    this.marked = undefined; // what another run has marked is not known here
    this.part = (id) => root.querySelector(`#${id}`);
    this.scrub = this.part("scrub");
    this.views = [...document.querySelectorAll(VIEWS)].map((view) => ({
      view,
      axes: [view.dataset.across, view.dataset.up],
      head: [...view.querySelectorAll(".moves-head, .grip")],
      table: [...view.querySelectorAll(".moves-table")],
      grip: view.querySelector(".grip"),
    }));
    this.turns = this.run.lines.flatMap((line, at) => (at && line !== this.run.lines[at - 1] ? [this.run.times[at]] : []));
    this.part("play")?.addEventListener("click", () => (this.begun === null ? this.play() : this.pause()));
    this.part("let-go")?.addEventListener("click", () => this.letGo());
    this.scrub?.addEventListener("input", () => this.seek(this.scrub.valueAsNumber));
    this.part("rate")?.addEventListener("change", ({ target }) => this.setRate(Number(target.value)));
    this.show();
  }

  get skips() {
    return this.part("skip-waits")?.checked ?? false;
  }

  at(time) {
    return stands(this.run, time);
  }

  // What carries an axis is what moves: the head its way, the table the other way.
  show() {
    const { place, sample } = this.at(this.time);
    const seen = still.matches && this.begun !== null ? this.at(this.turns.findLast((turn) => turn <= this.time) ?? 0).place : place;
    const begin = this.at(0).place;
    for (const { axes, head, table } of this.views) {
      const way = (part, sign) => axes.map((axis) => (this.run.carried[axis] === part ? sign * (seen[axis] - begin[axis]) : 0));
      slide(head, way("head", 1));
      slide(table, way("table", -1));
    }
    const cursor = document.getElementById("speeds-cursor");
    cursor?.setAttribute("transform", `translate(${this.time * cursor.dataset.scale} 0)`);
    if (!this.scrub) return;
    if (document.activeElement !== this.scrub || this.begun !== null) this.scrub.value = this.time;
    const moment = `${this.time.toFixed(1)} s`;
    this.part("moment").value = moment;
    const line = this.run.lines[sample];
    const step = this.run.steps[sample];
    this.scrub.setAttribute("aria-valuetext", step ? `${moment}, step ${step}` : moment);
    const owner = step ? `step ${step}, line ${line}` : `line ${line}`;
    this.part("whereabouts").textContent = `${this.reading(place)} ${this.run.unit}, ${owner}`;
    const wait = this.run.waits.find(({ at, to }) => (at === to ? at === this.time : at <= this.time && this.time < to));
    this.part("waiting").textContent = wait ? `${wait.is} (line ${wait.line}).` : "";
    this.mark(line, step);
  }

  reading(place) {
    const digits = this.run.size === 1 ? 2 : 3;
    return Object.entries(place)
      .map(([axis, value]) => `${axis.toUpperCase()} ${(value / this.run.size).toFixed(digits)}`)
      .join("  ");
  }

  // The step, the line and the piece of path that run now, marked as long as it is not standing at the beginning.
  mark(line, step) {
    const runs = this.begun !== null || this.time > 0 ? line : null;
    if (this.marked === runs) return;
    this.marked = runs;
    for (const element of document.querySelectorAll(".running")) element.classList.remove("running");
    if (runs === null) return;
    const those = [document.getElementById(`line-${line}`), step && document.getElementById(`step-${step}`)];
    for (const each of [...those, ...document.querySelectorAll(`:is(.paths, .own-numbers) [data-line="${line}"]`)]) each?.classList.add("running");
  }

  play() {
    this.resume();
    if (this.time >= this.run.seconds) this.seek(0);
    this.go();
  }

  go() {
    this.begun = performance.now() - (this.time / this.rate) * 1000;
    this.say();
    const own = (this.going = {});
    const frame = (now) => {
      if (this.begun === null || this.going !== own || !this.root.isConnected) return;
      this.goTo(Math.max(((now - this.begun) / 1000) * this.rate, this.time));
      this.show();
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  // On to a time, past the waits or up to the next that somebody has to end.
  goTo(time) {
    const end = this.until ?? this.run.seconds;
    for (const [index, { at, to }] of this.run.waits.entries()) {
      if (this.until !== null || index <= this.passed || at < this.time || at > time) continue;
      if (this.skips) time = Math.max(time, to);
      else if (at === to) {
        this.passed = index;
        this.time = at;
        this.pause();
        return;
      }
    }
    if (this.skips && time > this.time) {
      const inside = this.run.waits.find(({ at, to }) => at <= time && time < to);
      if (inside) time = inside.to;
      this.begun = performance.now() - (time / this.rate) * 1000;
    }
    this.time = Math.min(time, end);
    if (this.time >= end) this.pause();
  }

  pause() {
    this.begun = null;
    this.say();
  }

  say() {
    const button = this.part("play");
    if (!button) return;
    button.textContent = this.begun === null ? "Play" : "Pause";
    button.setAttribute("aria-pressed", String(this.begun !== null));
  }

  seek(time) {
    this.resume();
    this.passed = -1;
    this.time = Math.min(Math.max(time, 0), this.run.seconds);
    if (this.begun !== null) this.begun = performance.now() - (this.time / this.rate) * 1000;
    this.show();
  }

  setRate(rate) {
    this.rate = rate;
    if (this.begun !== null) this.begun = performance.now() - (this.time / rate) * 1000;
  }

  // What was let go is held again.
  resume() {
    this.until = null;
    forget();
    for (const each of ["let-go-says", "dragged"]) if (this.part(each)) this.part(each).textContent = "";
  }

  // Enable is let go now: what the controller has runs out, or the machine brakes, which the run does not know and is only drawn.
  letGo() {
    this.resume();
    const left = whatGoesOn(this.run, this.time, (time) => this.at(time).place);
    this.part("let-go-says").textContent = left.says;
    draw(left.trail, this.views);
    if (left.brakes || left.to <= this.time) this.pause();
    else {
      this.until = left.to;
      this.go();
    }
    this.show();
  }
}

// Up the page is up the axis, and one unit of the drawing is a mm.
export function slide(elements, [across, up]) {
  for (const element of elements) element.setAttribute("transform", `translate(${across} ${-up})`);
}
