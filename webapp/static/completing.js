// The words of the controller beside the caret: what each does, and a list to choose from while one is written. Nothing
// is taken out of a hand: Enter and Tab do what they always do until a word has been chosen with the arrows.

const UNFINISHED = /[A-Za-z]\d*\.?\d*$/;
const SHOWN = 8; // words in sight at once; the arrows go on beyond them

let words = [];
let asked;
const list = Object.assign(document.createElement("ul"), { id: "completion", className: "completion", hidden: true });
list.setAttribute("role", "listbox");
list.setAttribute("aria-label", "Words");

function ask() {
  asked ??= fetch("/own-lines/words").then((answer) => answer.json()).then((found) => (words = found)).catch(() => (asked = undefined));
  return asked;
}

// A word as it is looked up: capitals, and no zeros before its number.
function plain(word) {
  return word.toUpperCase().replace(/^([A-Z])0+(?=\d)/, "$1");
}

function inComment(text) {
  return text.lastIndexOf("(") > text.lastIndexOf(")") || text.includes(";");
}

// What the word does that stands at a place of a line, "" where there is none.
export function saidOf(line, at) {
  if (inComment(line.slice(0, at))) return "";
  for (const found of line.matchAll(/[A-Za-z]\s*[-+]?[\d.]*/g)) {
    if (found.index > at || at > found.index + found[0].length) continue;
    const word = plain(found[0].replace(/\s/g, ""));
    const known = words.find((each) => each.word === word) ?? words.find((each) => each.word === word[0] && !"GM".includes(word[0]));
    if (known) return `${known.word}: ${known.says}`;
  }
  return "";
}

function fitting(written) {
  const word = plain(written);
  const fit = words.filter((each) => each.word.startsWith(word) && (each.word !== word || word.length === 1));
  return fit.length === 1 && fit[0].word === word ? [] : fit;
}

class Completion {
  constructor(field) {
    this.field = field;
    this.chosen = -1;
    field.setAttribute("aria-autocomplete", "list");
    field.addEventListener("focus", ask);
    field.addEventListener("input", ({ inputType }) => (inputType === "insertText" && !this.taking ? this.open(false) : this.close()));
    field.addEventListener("keydown", (event) => this.key(event));
    for (const kind of ["blur", "pointerdown"]) field.addEventListener(kind, () => this.close());
    field.addEventListener("scroll", () => this.isOpen && this.place()); // as a new line does it at the lower end
    if (document.activeElement === field) ask();
  }

  get isOpen() {
    return !list.hidden && list.of === this;
  }

  async open(wanted) {
    await ask();
    const { value, selectionStart, selectionEnd } = this.field;
    const line = value.slice(value.lastIndexOf("\n", selectionStart - 1) + 1, selectionStart);
    this.written = UNFINISHED.exec(line)?.[0] ?? "";
    const fit = inComment(line) || selectionStart !== selectionEnd || (!this.written && !wanted) ? [] : fitting(this.written);
    if (!fit.length) return this.close();
    this.fit = fit;
    this.before = line.slice(0, line.length - this.written.length);
    list.of = this;
    this.choose(-1);
    (this.field.closest("main") ?? document.body).append(list); // within a landmark, and out of what is clipped
    list.hidden = false;
    this.field.setAttribute("aria-controls", list.id);
    this.place();
  }

  place() {
    const box = this.field.getBoundingClientRect();
    const look = getComputedStyle(this.field);
    const row = this.field.value.slice(0, this.field.selectionStart).split("\n").length;
    const wide = document.createElement("canvas").getContext("2d");
    wide.font = `${look.fontSize} ${look.fontFamily}`;
    const along = parseFloat(look.paddingLeft) + wide.measureText(this.before).width - this.field.scrollLeft;
    const under = parseFloat(look.paddingTop) + row * parseFloat(look.lineHeight) - this.field.scrollTop;
    list.style.left = `${Math.max(Math.min(box.left + along, innerWidth - list.offsetWidth - 8), 8)}px`;
    const below = box.top + under + 4;
    const above = below - parseFloat(look.lineHeight) - list.offsetHeight - 8;
    list.style.top = `${below + list.offsetHeight > innerHeight && above > 0 ? above : below}px`;
  }

  option({ word, says, not }, at) {
    const made = Object.assign(document.createElement("li"), { id: `completion-${at}` });
    made.setAttribute("role", "option");
    made.setAttribute("aria-selected", String(at === this.chosen));
    made.setAttribute("aria-posinset", at + 1);
    made.setAttribute("aria-setsize", this.fit.length);
    made.append(Object.assign(document.createElement("b"), { textContent: word }), ` ${says}`);
    if (not) made.append(Object.assign(document.createElement("span"), { className: "not", textContent: ` Not here: ${not}.` }));
    made.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      this.take(at);
    });
    return made;
  }

  choose(at) {
    this.chosen = at;
    this.from = at < 0 ? 0 : Math.min(Math.max(this.from, at - SHOWN + 1), at);
    list.replaceChildren(...this.fit.slice(this.from, this.from + SHOWN).map((each, which) => this.option(each, this.from + which)));
    if (at < 0) this.field.removeAttribute("aria-activedescendant");
    else this.field.setAttribute("aria-activedescendant", `completion-${at}`);
  }

  take(at) {
    const { word } = this.fit[at];
    this.close();
    this.field.focus();
    this.field.setSelectionRange(this.field.selectionStart - this.written.length, this.field.selectionStart);
    this.taking = true;
    if (!document.execCommand("insertText", false, word)) { // the one way that the browser's own undo takes back
      this.field.setRangeText(word, this.field.selectionStart, this.field.selectionEnd, "end");
      this.field.dispatchEvent(new InputEvent("input", { bubbles: true }));
    }
    this.taking = false;
  }

  close() {
    if (!this.isOpen) return;
    list.hidden = true;
    list.remove();
    for (const name of ["aria-activedescendant", "aria-controls"]) this.field.removeAttribute(name);
  }

  key(event) {
    if (event.key === " " && event.ctrlKey) {
      event.preventDefault();
      this.open(true);
    }
    if (!this.isOpen || event.altKey) return;
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step) {
      const count = this.fit.length;
      this.choose(this.chosen < 0 ? (step > 0 ? 0 : count - 1) : (this.chosen + step + count) % count);
    } else if (["Enter", "Tab"].includes(event.key) && this.chosen >= 0) this.take(this.chosen);
    else if (event.key === "Escape") this.close();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
}

const fields = new WeakSet();

// Offers the words in a field.
export function complete(field) {
  if (fields.has(field)) return;
  fields.add(field);
  new Completion(field);
}

// A field that has been renewed takes its list along.
document.addEventListener("htmx:afterSettle", () => list.of?.field.isConnected === false && list.of.close());
