// The wire's way as geometry: where it stands at a minute of the day, and the lines that it has run along until then.

/** Centre, radius and angles of an arc from `a` to `b` with that bulge; none for a line. */
const arcOf = ([ax, ay], [bx, by], bulge) => {
  const [cx, cy] = [(ax + bx) / 2 - (by - ay) * (1 - bulge * bulge) / (4 * bulge), (ay + by) / 2 + (bx - ax) * (1 - bulge * bulge) / (4 * bulge)];
  const begins = Math.atan2(ay - cy, ax - cx);
  return { cx, cy, radius: Math.hypot(ax - cx, ay - cy), begins, sweep: 4 * Math.atan(bulge) };
};

const segment = ([ax, ay, bulge], [bx, by]) => {
  const chord = Math.hypot(bx - ax, by - ay);
  const arc = Math.abs(bulge) > 1e-9 && chord > 0 ? arcOf([ax, ay], [bx, by], bulge) : null;
  return { from: [ax, ay], to: [bx, by], arc, length: arc ? arc.radius * Math.abs(arc.sweep) : chord };
};

/** Vertices measured along; those of a loop close. */
const lineOf = (vertices, closed) => {
  const count = closed ? vertices.length : vertices.length - 1;
  const begins = new Float64Array(count + 1);
  const segments = [];
  for (let i = 0; i < count; i++) {
    const made = segment(vertices[i], vertices[(i + 1) % vertices.length]);
    segments.push(made);
    begins[i + 1] = begins[i] + made.length;
  }
  return { segments, begins, length: begins[count], closed };
};

const pointOf = ({ from, to, arc }, share) => {
  if (!arc) return [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share];
  const angle = arc.begins + arc.sweep * share;
  return [arc.cx + arc.radius * Math.cos(angle), arc.cy + arc.radius * Math.sin(angle)];
};

/** Segment at a distance along a line, and the share of it gone. */
const placeOn = (line, along) => {
  let [low, high] = [0, line.segments.length - 1];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (line.begins[middle] <= along) low = middle; else high = middle - 1;
  }
  const { length } = line.segments[low];
  return [low, length > 0 ? Math.min(1, Math.max(0, (along - line.begins[low]) / length)) : 0];
};

/** Runs along a line from one distance to another, in pieces that do not pass its first vertex; `piece` gets ends in order of the run. */
const eachPiece = (line, from, to, piece) => {
  if (!line.closed) { piece(from, to); return; }
  const turns = (along) => Math.floor(along / line.length);
  const step = to >= from ? 1 : -1;
  let at = from;
  while ((to - at) * step > 1e-9) {
    const turn = step > 0 ? turns(at + 1e-9) : turns(at - 1e-9);
    const edge = step > 0 ? (turn + 1) * line.length : turn * line.length;
    const end = step > 0 ? Math.min(to, edge) : Math.max(to, edge);
    piece(at - turn * line.length, end - turn * line.length);
    at = end;
  }
};

/** Adds the part of a line between two distances to a path that is drawn. */
const trace = (path, line, from, to) => eachPiece(line, from, to, (begin, end) => {
  const [low, high] = begin <= end ? [begin, end] : [end, begin];
  const [first, a] = placeOn(line, low);
  const [last, b] = placeOn(line, high);
  path.moveTo(...pointOf(line.segments[first], a));
  for (let i = first; i <= last; i++) {
    const one = line.segments[i];
    const [s, e] = [i === first ? a : 0, i === last ? b : 1];
    if (one.arc) path.arc(one.arc.cx, one.arc.cy, one.arc.radius, one.arc.begins + one.arc.sweep * s, one.arc.begins + one.arc.sweep * e, one.arc.sweep < 0);
    else path.lineTo(...pointOf(one, e));
  }
});

/** Prepares the server's answer: steps with lines of their own. */
export const prepare = (motion) => {
  const loops = motion.loops.map(({ vertices, closed, ...rest }) => ({ ...rest, line: lineOf(vertices, closed) }));
  const steps = motion.steps.map((step) => {
    const stretches = step.way.map(({ along, beside }) => {
      if (along) return { line: loops[step.loop - 1].line, from: along[0], length: along[1] };
      const line = lineOf(beside, false);
      return { line, from: 0, length: line.length };
    });
    const { contour, pass, kerf_mm: kerf } = loops[step.loop - 1];
    const cuts = !["travel", "return", "thread"].includes(step.kind);
    return { ...step, contour, pass, kerf, cuts, stretches, length: stretches.reduce((sum, { length }) => sum + Math.abs(length), 0), ends: step.from_minutes + step.minutes };
  });
  const pieces = motion.pieces.map(({ outlines, ...rest }) => {
    const path = new Path2D();
    for (const outline of outlines) {
      const line = lineOf(outline, true);
      trace(path, line, 0, line.length);
    }
    return { ...rest, path };
  });
  return { ...motion, loops, steps, pieces };
};

/** Which step goes on at a minute of the day: the last that has begun. */
export const stepAt = ({ steps }, minutes) => {
  let [low, high] = [0, steps.length - 1];
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (steps[middle].from_minutes <= minutes + 1e-9) low = middle; else high = middle - 1;
  }
  return low;
};

/** The share of a step that is done at a minute of the day. */
export const shareOf = (step, minutes) => (step.minutes > 0 ? Math.min(1, Math.max(0, (minutes - step.from_minutes) / step.minutes)) : minutes >= step.from_minutes ? 1 : 0);

/** Adds what the wire runs of a step between two shares of it to a path. */
export const traceStep = (path, step, from, to) => {
  let [begin, end] = [from * step.length, to * step.length];
  for (const { line, from: at, length } of step.stretches) {
    const whole = Math.abs(length);
    const [a, b] = [Math.max(0, begin), Math.min(whole, end)];
    if (b > a) trace(path, line, at + Math.sign(length) * a, at + Math.sign(length) * b);
    begin -= whole;
    end -= whole;
  }
};

/** Where the wire stands at a share of a step; none where it stands still. */
export const pointAt = (step, share) => {
  let left = share * step.length;
  for (const { line, from, length } of step.stretches) {
    const whole = Math.abs(length);
    if (left <= whole || step.stretches.at(-1).line === line) {
      let along = from + Math.sign(length) * Math.min(left, whole);
      if (line.closed) along = ((along % line.length) + line.length) % line.length;
      const [i, part] = placeOn(line, along);
      return pointOf(line.segments[i], part);
    }
    left -= whole;
  }
  return null;
};
