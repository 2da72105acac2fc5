// The samples of a run as the page gets them: each number of a row as what it is more than the one before, in whole parts.

function summed(differences, parts) {
  let whole = 0;
  return differences.map((each) => (whole += each) / parts);
}

export function unpacked(text) {
  const run = JSON.parse(text);
  const [ofSecond, ofMm] = run.parts;
  run.times = summed(run.times, ofSecond);
  for (const [axis, row] of Object.entries(run.positions)) run.positions[axis] = summed(row, ofMm);
  run.lines = summed(run.lines, 1);
  run.steps = run.lines.map((line) => run.step_of[line] ?? null);
  return run;
}
