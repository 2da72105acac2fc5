// The samples of a run as the page carries them.

// Times and places come as steps of 0.1 ms and 0.001 mm.
export function unpacked(run) {
  const summed = (steps, unit) => {
    let sum = 0;
    return steps.map((step) => (sum += step) / unit);
  };
  const positions = Object.fromEntries(Object.entries(run.positions).map(([axis, steps]) => [axis, summed(steps, 1e3)]));
  return { ...run, times: summed(run.times, 1e4), positions };
}

// Where every axis stands at a time, and the index of the sample there or before.
export function stands({ times, positions }, time) {
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
