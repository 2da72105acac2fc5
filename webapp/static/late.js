// What was typed while the answer to a button was on its way is put into the sheet that comes, in the step that it was
// typed into, wherever that stands by then; and what was being written goes on being written.

import { goOn, giveUp } from "./saving.js";

const form = () => document.getElementById("operations");
const base = () => JSON.parse(document.getElementById("base").value);

let late = null;

// Where a step stands after what a button did; 0 where it is gone.
function place(step, does, before, now) {
  const [verb, first, second] = does.split(" ").map((word, at) => (at ? Number(word) : word));
  if (verb === "remove" && step === first) return 0;
  const to = { up: first - 1, down: first + 1, move: second }[verb];
  if (to) {
    const order = before.map((_, at) => at + 1);
    order.splice(to - 1, 0, ...order.splice(first - 1, 1));
    return order.indexOf(step) + 1;
  }
  let same = 0;
  while (same < before.length && before[same] === now[same]) same += 1;
  return step <= same ? step : step + now.length - before.length;
}

function writeOn(field, caret) {
  const fold = field?.closest("details");
  if (fold) fold.open = true;
  field?.focus({ preventScroll: true });
  if (caret !== null) field?.setSelectionRange?.(caret, caret);
}

document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  late = null;
  if (detail.target.id !== "sheet" || !detail.shouldSwap || !form()) return;
  const of = detail.requestConfig.formData;
  const { blocks, values } = base();
  const typed = [...new FormData(form())].filter(([name, value]) => name in values && of.has(name) && value !== of.get(name));
  const at = document.activeElement;
  if (typed.length) late = { blocks, typed, of, name: at.name, caret: at.selectionStart ?? null };
});

document.addEventListener("htmx:afterSwap", () => {
  if (!late || !form()) return;
  const { blocks, typed, of, name, caret } = late;
  late = null;
  const now = base();
  const lost = [];
  let at = null;
  for (const [was, value] of typed) {
    const [, number, key] = /^step\.(\d+)\.(.+)$/.exec(was) ?? [];
    const step = number && place(Number(number), of.get("do") ?? "", blocks, now.blocks);
    const field = form().elements.namedItem(number ? `step.${step}.${key}` : was);
    if (!field || (number && blocks[number - 1] !== now.blocks[step - 1])) {
      lost.push(value);
      continue;
    }
    if (field.value !== of.get(was)) now.values[field.name] = of.get(was); // changed elsewhere too: the server then asks
    field.value = value;
    if (was === name) at = field;
  }
  if (lost.length) giveUp(lost);
  if (lost.length === typed.length) return;
  document.getElementById("base").value = JSON.stringify(now);
  // Only then does htmx listen to the new fields, and has given the focus to what the answer names.
  document.addEventListener("htmx:afterSettle", () => { goOn(); writeOn(at, caret); }, { once: true });
});
