// A value of a step moved by so much: a number stays a number, and a formula keeps what it is relative to.

import { SIZE } from "./holding.js";

const NUMBER = /^([-+]?)\s*(\d+\.?\d*|\.\d+)\s*(mm|in)?$/i;
const LAST = /^(.*[^\s(,*/+-])\s*([+-])\s*(\d+\.?\d*|\.\d+)\s*(mm|in)?$/i; // a sum whose last term is a number

const rounded = (value) => Number(value.toFixed(4));

// How much ``by`` mm are in what stands behind a number; one without a unit is in the units of the macro.
const inUnit = (by, unit, units) => by / SIZE[unit ? { mm: "mm", in: "inch" }[unit.toLowerCase()] : units];

// The text of a field moved by so many mm. ``units`` are those of the macro, ``written`` those of the sheet.
export function shifted(text, by, units, written) {
  const plain = text.trim();
  const number = NUMBER.exec(plain);
  if (number) {
    const [, sign, figure, unit] = number;
    const value = Number(sign + figure) + inUnit(by, unit, units);
    return rounded(value) + (unit ? ` ${unit}` : "");
  }
  const sum = LAST.exec(plain);
  if (sum) {
    const [, before, sign, figure, unit] = sum;
    const value = rounded(Number(sign + figure) + inUnit(by, unit, units));
    if (value === 0) return before;
    return `${before} ${value < 0 ? "-" : "+"} ${Math.abs(value)}` + (unit ? ` ${unit}` : "");
  }
  const way = rounded(by / SIZE[written]);
  return `${plain} ${way < 0 ? "-" : "+"} ${Math.abs(way)} ${written === "mm" ? "mm" : "in"}`;
}

// Parts between the commas that stand outside parentheses, since min(a, b) has a comma of its own.
export function apart(row) {
  const parts = [""];
  let depth = 0;
  for (const character of row) {
    depth += (character === "(") - (character === ")");
    if (character === "," && depth === 0) parts.push("");
    else parts[parts.length - 1] += character;
  }
  return parts;
}

// A text of rows of formulas with one row moved; ``ways`` has the mm of each part of it. Empty rows do not count.
export function rowShifted(text, row, ways, units, written) {
  let number = -1;
  return text
    .split("\n")
    .map((line) => {
      if (line.trim()) number += 1;
      if (number !== row || !line.trim()) return line;
      return apart(line)
        .map((part, at) => (ways[at] ? shifted(part, ways[at], units, written) : part.trim()))
        .join(", ");
    })
    .join("\n");
}
