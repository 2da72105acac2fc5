// Playback: table and head of the drawing move along the samples of the plan that the page carries. No motion is worked
// out here: between two samples a straight line is good enough, and another start is asked of the server.

document.documentElement.classList.add("scripted"); // the player is only there where it works

const FRAME = "#elevations .view";

let player; // the one on the page now; a new one takes over when the drawing is swapped
let wanted = null; // the start last asked for, as the fields say it; null for the typical one

class Player {
  constructor(root) {
    this.root = root;
    this.run = JSON.parse(root.dataset.run);
    this.time = 0;
    this.rate = 1;
    this.begun = null;
    this.button = root.querySelector("#play");
    this.scrub = root.querySelector("#scrub");
    this.half = root.querySelector("#half");
    this.views = [...document.querySelectorAll(FRAME)].map((view) => ({
      view,
      axes: [view.dataset.across, view.dataset.up],
      head: [...view.querySelectorAll(".moves-head, .grip")],
      table: [...view.querySelectorAll(".moves-table")],
      grip: view.querySelector(".grip"),
    }));
    this.button?.addEventListener("click", () => (this.begun === null ? this.play() : this.pause()));
    this.scrub?.addEventListener("input", () => this.seek(this.scrub.valueAsNumber));
    this.half?.addEventListener("change", () => this.setRate(this.half.checked ? 0.5 : 1));
    for (const each of this.views) this.makeDraggable(each);
    this.show();
  }

  // Where every axis stands at a time, and the index of the sample there or before.
  at(time) {
    const { times, positions } = this.run;
    let low = 0;
    let high = times.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (times[middle] <= time) low = middle;
      else high = middle;
    }
    const span = times[high] - times[low];
    const part = span > 0 ? Math.min(Math.max((time - times[low]) / span, 0), 1) : 0;
    const place = {};
    for (const [axis, values] of Object.entries(positions)) {
      place[axis] = values[low] + (values[high] - values[low]) * part;
    }
    return { place, sample: part < 1 ? low : high };
  }

  // What carries an axis is what moves: the head its way, the table the other way.
  show() {
    const { place, sample } = this.at(this.time);
    const begin = this.at(0).place;
    for (const { axes, head, table } of this.views) {
      const way = (part, sign) =>
        axes.map((axis) => (this.run.carried[axis] === part ? sign * (place[axis] - begin[axis]) : 0));
      slide(head, way("head", 1));
      slide(table, way("table", -1));
    }
    const cursor = document.getElementById("speeds-cursor");
    cursor?.setAttribute("transform", `translate(${this.time * cursor.dataset.scale} 0)`);
    if (!this.scrub) return;
    if (document.activeElement !== this.scrub || this.begun !== null) this.scrub.value = this.time;
    const moment = `${this.time.toFixed(1)} s`;
    this.root.querySelector("#moment").value = moment;
    const line = this.run.lines[sample];
    const step = this.run.steps[sample];
    this.scrub.setAttribute("aria-valuetext", step ? `${moment}, step ${step}` : moment);
    const owner = step ? `step ${step}, line ${line}` : `line ${line}`;
    this.root.querySelector("#whereabouts").textContent = `${this.reading(place)} ${this.run.unit}, ${owner}`;
    this.mark(line, step);
  }

  reading(place) {
    const digits = this.run.size === 1 ? 2 : 3;
    return Object.entries(place)
      .map(([axis, value]) => `${axis.toUpperCase()} ${(value / this.run.size).toFixed(digits)}`)
      .join("  ");
  }

  // The step and the line that run now, marked as long as it is not standing at the beginning.
  mark(line, step) {
    const running = this.begun !== null || this.time > 0;
    for (const element of document.querySelectorAll(".running")) element.classList.remove("running");
    if (!running) return;
    document.getElementById(`line-${line}`)?.classList.add("running");
    if (step) document.getElementById(`step-${step}`)?.classList.add("running");
  }

  play() {
    if (this.time >= this.run.seconds) this.time = 0;
    this.begun = performance.now() - (this.time / this.rate) * 1000;
    this.say();
    const frame = (now) => {
      if (this.begun === null || player !== this) return;
      this.time = Math.min(Math.max(((now - this.begun) / 1000) * this.rate, 0), this.run.seconds);
      if (this.time >= this.run.seconds) this.pause();
      this.show();
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  pause() {
    this.begun = null;
    this.say();
  }

  say() {
    if (!this.button) return;
    this.button.textContent = this.begun === null ? "Play" : "Pause";
    this.button.setAttribute("aria-pressed", String(this.begun !== null));
  }

  seek(time) {
    this.time = Math.min(Math.max(time, 0), this.run.seconds);
    if (this.begun !== null) this.begun = performance.now() - (this.time / this.rate) * 1000;
    this.show();
  }

  setRate(rate) {
    this.rate = rate;
    this.seek(this.time);
  }

  makeDraggable({ view, axes, grip }) {
    if (!grip || !this.root.querySelector("#start-form")) return;
    view.ownerSVGElement.classList.add("draggable");
    grip.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      this.pause();
      this.seek(0);
      const from = onPage(view, event);
      const begin = this.at(0).place;
      let to = begin;
      grip.setPointerCapture(event.pointerId);
      grip.classList.add("held");
      const move = (moved) => {
        const here = onPage(view, moved);
        to = { ...begin };
        [here.x - from.x, from.y - here.y].forEach((shift, index) => {
          const [low, high] = this.run.box[axes[index]];
          to[axes[index]] = Math.min(Math.max(begin[axes[index]] + shift, low), high);
        });
        for (const each of this.views) slide(each.head, each.axes.map((axis) => to[axis] - begin[axis]));
        this.fill(to);
      };
      const end = (done) => {
        grip.removeEventListener("pointermove", move);
        grip.removeEventListener("pointerup", end);
        grip.removeEventListener("pointercancel", end);
        grip.classList.remove("held");
        if (done.type === "pointercancel") {
          this.fill(begin);
          this.show();
        } else if (to !== begin) this.root.querySelector("#start-form").requestSubmit();
      };
      grip.addEventListener("pointermove", move);
      grip.addEventListener("pointerup", end);
      grip.addEventListener("pointercancel", end);
    });
  }

  fill(place) {
    const digits = this.run.size === 1 ? 1 : 3;
    for (const field of this.root.querySelectorAll("[data-axis]")) {
      const value = place[field.dataset.axis];
      if (value !== undefined) field.value = Number((value / this.run.size).toFixed(digits));
    }
  }
}

// Up the page is up the axis, and one unit of the drawing is a mm.
function slide(elements, [across, up]) {
  for (const element of elements) element.setAttribute("transform", `translate(${across} ${-up})`);
}

function onPage(view, event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(view.getScreenCTM().inverse());
}

function takeOver() {
  const root = document.getElementById("drawing");
  if (!root?.dataset.run || player?.root === root) return;
  const half = player?.half?.checked ?? false;
  player?.pause();
  player = new Player(root);
  if (half && player.half) {
    player.half.checked = true;
    player.setRate(0.5);
  }
}

function startShown() {
  const fields = document.querySelectorAll("#chosen-start [name^=at-]");
  return fields.length ? new URLSearchParams([...fields].map((field) => [field.name, field.value])).toString() : null;
}

// The answer to an edit that was under way may come after another start was asked for: then it is asked for again.
function keepStart(request) {
  if (!request || request.path.includes("/drawing")) wanted = startShown();
  else if (wanted === startShown()) return;
  else if (wanted === null) document.getElementById("typical-start").click();
  else {
    for (const [name, value] of new URLSearchParams(wanted)) document.getElementById(name).value = value;
    document.getElementById("start-form").requestSubmit();
  }
}

document.addEventListener("htmx:configRequest", ({ detail }) => {
  if (detail.elt.id === "start-form") wanted = new URLSearchParams(detail.formData).toString();
  else if (detail.elt.id === "typical-start") wanted = null;
});
document.addEventListener("htmx:afterSettle", ({ detail }) => {
  takeOver();
  keepStart(detail.requestConfig);
});
takeOver();
keepStart();
