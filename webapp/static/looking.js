// The drawing is moved and made larger within its frame: by mouse, by two fingers, and by the keys of the frame itself.

const MOST = 12; // times the size at which all of it is seen (our choice)
const STEP = 1.25; // of one key, and of a turn of the wheel by 100 units (our choice)
const SHIFT = 0.15; // of what is seen, for an arrow key (our choice)

let kept = null; // what was seen last, as shares of the whole: it stays while steps are edited
let current = null; // what is looked at now

class Looking {
  constructor(frame, buttons) {
    this.frame = frame;
    this.renew();
    frame.tabIndex = 0;
    frame.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    frame.addEventListener("keydown", (event) => this.key(event));
    frame.addEventListener("touchstart", (event) => this.pinch(event), { passive: false });
    for (const button of buttons) button.addEventListener("click", () => this.press(button.dataset.look));
  }

  // The drawing in the frame is another one now, and is looked at where the last one was.
  renew() {
    this.svg = this.frame.querySelector("svg");
    const { x, y, width, height } = this.svg.viewBox.baseVal;
    this.whole = { x, y, width, height };
    this.seen = { zoom: 1, x: 0, y: 0 };
    if (kept) this.see(kept);
  }

  // Zoom and upper left corner, the corner as a share of the whole.
  see({ zoom, x, y }) {
    const large = Math.min(Math.max(zoom, 1), MOST);
    const within = (value) => Math.min(Math.max(value, 0), 1 - 1 / large);
    this.seen = kept = { zoom: large, x: within(x), y: within(y) };
    const { width, height } = this.whole;
    const box = [this.whole.x + this.seen.x * width, this.whole.y + this.seen.y * height, width / large, height / large];
    this.svg.setAttribute("viewBox", box.map((each) => each.toFixed(3)).join(" "));
    this.frame.classList.toggle("zoomed", large > 1);
  }

  // Larger by a factor, while what is at a place of the screen stays there; the middle where none is given.
  zoom(factor, at) {
    const { zoom, x, y } = this.seen;
    const here = at ? this.share(at) : { x: x + 0.5 / zoom, y: y + 0.5 / zoom };
    const next = Math.min(Math.max(zoom * factor, 1), MOST);
    this.see({ zoom: next, x: here.x - ((here.x - x) * zoom) / next, y: here.y - ((here.y - y) * zoom) / next });
  }

  share({ clientX, clientY }) {
    const point = new DOMPoint(clientX, clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return { x: (point.x - this.whole.x) / this.whole.width, y: (point.y - this.whole.y) / this.whole.height };
  }

  // By so many parts of what is seen.
  shift(across, down) {
    const { zoom, x, y } = this.seen;
    this.see({ zoom, x: x + across / zoom, y: y + down / zoom });
  }

  // A page that rolls is rolled by the wheel, unless the drawing was chosen or Ctrl is held.
  wheel(event) {
    const page = document.scrollingElement;
    const rolls = page.scrollHeight > page.clientHeight + 1 && !this.frame.contains(document.activeElement);
    if ((rolls && !event.ctrlKey) || (event.deltaY > 0 && this.seen.zoom === 1)) return;
    event.preventDefault();
    this.zoom(STEP ** (-event.deltaY / 100), event);
  }

  key(event) {
    if (event.target !== this.frame || event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = { ArrowLeft: [-SHIFT, 0], ArrowRight: [SHIFT, 0], ArrowUp: [0, -SHIFT], ArrowDown: [0, SHIFT] }[event.key];
    const press = { "+": "in", "=": "in", "-": "out", 0: "fit" }[event.key];
    if (!press && (!arrow || this.seen.zoom === 1)) return; // what is whole has nowhere to go: the page rolls
    event.preventDefault();
    if (arrow) this.shift(...arrow);
    else this.press(press);
  }

  press(what) {
    if (what === "fit") this.see({ zoom: 1, x: 0, y: 0 });
    else this.zoom(what === "in" ? STEP : 1 / STEP);
  }

  drag(event) {
    if (event.button !== 0 || event.pointerType === "touch" && this.fingers > 1 || this.seen.zoom === 1) return;
    if (event.target.closest("a, button, .grip, .handle, .tip") || !this.frame.contains(event.target)) return;
    let last = event;
    const move = (moved) => {
      if (this.fingers > 1) return;
      const [from, to] = [this.share(last), this.share(moved)];
      last = moved;
      this.see({ ...this.seen, x: this.seen.x + from.x - to.x, y: this.seen.y + from.y - to.y });
    };
    this.while("pointermove", move, ["pointerup", "pointercancel"]);
  }

  // Two fingers: their middle moves the drawing, their distance makes it larger.
  pinch(event) {
    this.fingers = event.touches.length;
    if (this.fingers !== 2) return;
    event.preventDefault();
    const both = ({ touches: [one, other] }) => ({
      at: { clientX: (one.clientX + other.clientX) / 2, clientY: (one.clientY + other.clientY) / 2 },
      apart: Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY),
    });
    let last = both(event);
    const move = (moved) => {
      if (moved.touches.length !== 2) return;
      moved.preventDefault();
      const next = both(moved);
      const [from, to] = [this.share(last.at), this.share(next.at)];
      this.see({ ...this.seen, x: this.seen.x + from.x - to.x, y: this.seen.y + from.y - to.y });
      if (last.apart > 0) this.zoom(next.apart / last.apart, next.at);
      last = next;
    };
    this.while("touchmove", move, ["touchend", "touchcancel"], () => (this.fingers = 0));
  }

  // Does something for each event of a kind until one of others.
  while(kind, does, ends, after) {
    const stop = () => {
      document.removeEventListener(kind, does);
      for (const end of ends) document.removeEventListener(end, stop);
      after?.();
    };
    document.addEventListener(kind, does, { passive: false });
    for (const end of ends) document.addEventListener(end, stop);
  }
}

// What is asked to be shown is shown whole; another start or a changed step is looked at where one was looking.
document.addEventListener("htmx:configRequest", ({ detail }) => {
  if (detail.elt.id !== "start-form" && (detail.target.id === "drawing" || detail.elt.closest("[data-anew]"))) kept = null;
});

// Whoever takes hold of something on the drawing has done so by the time the window hears of it.
window.addEventListener("pointerdown", (event) => !event.defaultPrevented && current?.drag(event));

// The frame of a part of the page, with the buttons in it; null where it shows no drawing.
export function look(root) {
  const frame = root.querySelector(".viewport");
  current = frame?.querySelector("svg") ? new Looking(frame, root.querySelectorAll("[data-look]")) : null;
  return current;
}
