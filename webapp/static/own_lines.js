// Lines written by hand: their numbers, marks under what a finding is about, and what it says of the line of the caret.
// Only what is in sight is drawn, so that thousands of lines cost no more than a screen of them.

import { complete, saidOf } from "./completing.js";
import "./pasting.js";

const SCREENS = 1; // lines drawn above and below what is in sight, so that a quick scroll shows no gap

// What the page says of the lines of a step, in their order: number, text, and the pieces of it that are marked.
function told(step) {
  const rows = [...document.querySelectorAll(`#lines li[data-step="${step}"]`)];
  return rows.map((row) => {
    const code = row.querySelector("code");
    const marks = [];
    let at = 0;
    for (const piece of code.childNodes) {
      const end = at + piece.textContent.length;
      if (piece.nodeName === "MARK") marks.push([at, end]);
      at = end;
    }
    return { number: Number(row.id.replace("line-", "")), text: code.textContent, marks, shape: row.className };
  });
}

// What the first finding on a line says.
function finding(number) {
  const found = document.querySelector(`.finding[data-line="${number}"]`) ?? document.querySelector(`.finding a[href="#line-${number}"]`)?.closest(".finding");
  const word = found?.querySelector(".severity")?.textContent ?? "";
  const said = found?.querySelector("p")?.textContent.replace(word, "").replace(/\s+/g, " ").trim() ?? "";
  return said && `${word}: ${said}`;
}

function part(kind, around, tag = "span") {
  const made = document.createElement(tag);
  made.className = kind;
  around.append(made);
  return made;
}

class OwnLines {
  constructor(around) {
    this.around = around;
    this.field = around.querySelector("textarea");
    this.step = around.dataset.ownLines || around.closest("[data-step]")?.dataset.step;
    this.numbers = part("own-numbers", around);
    this.marks = part("own-marks", around);
    this.says = part("own-says hint", around, "output");
    for (const layer of [this.numbers, this.marks]) {
      layer.setAttribute("aria-hidden", "true");
      layer.append(document.createElement("span"));
    }
    this.says.id = `${this.field.id}-says`;
    around.classList.add("numbered");
    this.read();
    this.field.addEventListener("input", () => this.read());
    this.field.addEventListener("scroll", () => this.later());
    for (const kind of ["keyup", "click", "focus"]) this.field.addEventListener(kind, () => this.say());
    for (const kind of ["pointermove", "pointerleave", "blur"]) this.field.addEventListener(kind, (event) => this.light(kind === "pointermove" ? this.under(event) : this.caret()));
    new ResizeObserver(() => this.later()).observe(this.field);
    complete(this.field);
  }

  read() {
    this.lines = this.field.value.split("\n");
    this.blank = Math.max(this.lines.findIndex((line) => line !== ""), 0); // what stands before is not written
    this.later();
  }

  renew() {
    this.told = told(this.step);
    this.later();
    this.say();
  }

  later() {
    this.due ??= requestAnimationFrame(() => {
      this.due = undefined;
      this.draw();
    });
  }

  about(index) {
    const row = this.told?.[index - this.blank];
    return row?.text === this.lines[index] ? row : undefined;
  }

  // The number in the file that leaves, where that is known: findings name lines by it.
  number(index) {
    const first = this.told?.[0]?.number;
    return first === undefined ? index + 1 : index - this.blank + first;
  }

  draw() {
    const { scrollTop, scrollLeft, clientHeight, clientWidth } = this.field;
    if (!clientHeight) return;
    const look = getComputedStyle(this.field);
    const height = parseFloat(look.lineHeight);
    const above = parseFloat(look.paddingTop);
    const seen = Math.ceil(clientHeight / height);
    const first = Math.max(Math.floor(scrollTop / height) - SCREENS * seen, 0);
    const shown = this.lines.slice(first, first + (1 + 2 * SCREENS) * seen + 1).map((_, at) => first + at);
    const top = above + first * height - scrollTop;
    for (const layer of [this.numbers, this.marks]) {
      layer.style.top = `${this.field.offsetTop + this.field.clientTop}px`;
      layer.style.left = `${this.field.offsetLeft + this.field.clientLeft}px`;
      layer.style.height = `${clientHeight}px`;
    }
    this.marks.style.width = `${clientWidth}px`;
    this.numbers.firstChild.style.transform = `translateY(${top}px)`;
    this.marks.firstChild.style.transform = `translate(${parseFloat(look.paddingLeft) - scrollLeft}px, ${top}px)`;
    this.numbers.firstChild.replaceChildren(...shown.map((index) => this.numbered(index)));
    this.marks.firstChild.replaceChildren(...shown.map((index) => this.marked(index)));
  }

  numbered(index) {
    const line = document.createElement("span");
    const number = (line.dataset.line = line.textContent = this.number(index));
    const now = document.getElementById(`line-${number}`)?.classList;
    line.className = this.about(index)?.shape ?? "";
    for (const each of ["lit", "running"]) line.classList.toggle(each, now?.contains(each) ?? false);
    return line;
  }

  marked(index) {
    const line = document.createElement("span");
    const row = this.about(index);
    let at = 0;
    for (const [from, to] of row?.marks ?? []) {
      line.append(row.text.slice(at, from), Object.assign(document.createElement("mark"), { textContent: row.text.slice(from, to), className: row.shape }));
      at = to;
    }
    line.append("\n");
    return line;
  }

  // The lines of the pointer and of the caret; none where neither is here.
  under({ offsetY }) {
    const look = getComputedStyle(this.field);
    return Math.floor((offsetY - parseFloat(look.paddingTop) + this.field.scrollTop) / parseFloat(look.lineHeight));
  }

  caret() {
    return document.activeElement === this.field ? this.field.value.slice(0, this.field.selectionStart).split("\n").length - 1 : -1;
  }

  // What belongs to a line lights up by the field itself: it is the line for as long as the pointer or the caret is there.
  light(index) {
    const row = this.about(index);
    if (this.field.dataset.line === row?.number.toString()) return;
    if (row) this.field.dataset.line = row.number;
    else delete this.field.dataset.line;
    this.field.dispatchEvent(new Event("line-reached", { bubbles: true }));
  }

  say() {
    if (document.activeElement !== this.field) return;
    const before = this.field.value.slice(0, this.field.selectionStart);
    const index = this.caret();
    this.light(index);
    const row = this.about(index);
    const wrong = row?.shape ? finding(row.number) : "";
    const said = wrong ? `Line ${row.number}, ${wrong}` : saidOf(this.lines[index] ?? "", before.length - before.lastIndexOf("\n") - 1);
    if (this.says.value !== said) this.says.value = said;
  }
}

const known = new WeakMap();

function lookForThem() {
  for (const around of document.querySelectorAll("[data-own-lines]")) {
    if (!known.has(around)) known.set(around, new OwnLines(around));
    known.get(around).renew();
  }
}

lookForThem();
document.addEventListener("htmx:afterSettle", lookForThem);
