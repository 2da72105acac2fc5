// The samples of a run as the page carries them.

const PIECES = 12; // in which a bent stretch is drawn

// Times and places come as steps of 0.1 ms and 0.001 mm, bends in 0.001 mm.
export function unpacked(run) {
  const summed = (steps, unit) => {
    let sum = 0;
    return steps.map((step) => (sum += step) / unit);
  };
  const positions = Object.fromEntries(Object.entries(run.positions).map(([axis, steps]) => [axis, summed(steps, 1e3)]));
  const bends = Object.fromEntries(Object.entries(run.bends).map(([axis, all]) => [axis, all.map((each) => each / 1e3)]));
  return { ...run, times: summed(run.times, 1e4), positions, bends };
}

// The times between two at which the path may have a corner or, where it is bent, is to be drawn.
export function between({ times, bends = {} }, from, to) {
  const pieces = (at) => (Object.values(bends).some((all) => all[2 * at] || all[2 * at + 1]) ? PIECES : 1);
  const parts = (end, at) =>
    Array.from({ length: pieces(at) }, (_, piece) => times[at] + ((end - times[at]) * (piece + 1)) / pieces(at));
  return times.slice(1).flatMap(parts).filter((each) => each > from && each < to);
}

// Where every axis stands at a time, and the index of the sample there or before.
export function stands({ times, positions, bends }, time) {
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
    const [first = 0, second = 0] = bends[axis].slice(2 * low, 2 * low + 2);
    const bent = 3 * (1 - part) * part * ((1 - part) * first + part * second);
    place[axis] = values[low] + (values[high] - values[low]) * part + bent;
  }
  return { place, sample: part < 1 ? low : high };
}
