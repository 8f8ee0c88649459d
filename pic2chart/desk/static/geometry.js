// Lines and boxes of stitches; a stitch is [round, stitch], from 1.

/** The stitches on a straight line between two. */
export function lineOf([r0, s0], [r1, s1]) {
  const steps = Math.max(Math.abs(r1 - r0), Math.abs(s1 - s0), 1);
  return Array.from({ length: steps + 1 }, (_, i) => [Math.round(r0 + ((r1 - r0) * i) / steps), Math.round(s0 + ((s1 - s0) * i) / steps)]);
}

/** Lowest and highest corner of a box given by any two. */
export function corners([a, b]) {
  return [[Math.min(a[0], b[0]), Math.min(a[1], b[1])], [Math.max(a[0], b[0]), Math.max(a[1], b[1])]];
}

export function boxOf(a, b) {
  const [low, high] = corners([a, b]);
  const places = [];
  for (let r = low[0]; r <= high[0]; r += 1) for (let s = low[1]; s <= high[1]; s += 1) places.push([r, s]);
  return places;
}
