#!/usr/bin/env python3
"""Paths of contours of crumbs beside the buffers of the general-purpose polygon library shapely (GEOS).

The command given as the first argument plans four passes round waves r = R + A·sin(kφ) whose chords are a few micrometres long and whose
coordinates are rounded, as exploded splines and scans leave them; as a part and as an opening. The area between a path, its arcs as chords,
and the buffer of the drawn polygon may be no more than the path's length times 0.1 µm and twice the rise of the chords of both.
With --whole: chords up to 200 000 and all of three shapes, minutes.
"""

import itertools
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
import shapely
from ezdxf.math import bulge_center, bulge_radius

PATH_MM = 1e-4
RISE_MM = 1e-5
FEW = (((0.5, 0.03, 5), 1500, 4), ((1.0, 0.08, 7), 2000, 3))
SHAPES = ((10.0, 1.0, 12), (5.0, 0.3, 20), (50.0, 5.0, 37))
WHOLE = tuple(itertools.product(SHAPES, (1000, 20_000, 100_000, 200_000), (3, 4, 6, 9)))


def main():
    command, whole = Path(sys.argv[1]).resolve(), "--whole" in sys.argv
    faults, paths, worst = [], 0, 0.0
    for shape, count, decimals in WHOLE if whole else FEW:
        ring = wave(shape, count, decimals)
        for layer in ("PART", "OPENING"):
            name = f"{layer} {shape} in {count} chords of {decimals} decimals"
            plan = planned(command, ring, layer)
            if "paths" not in plan or {path["pass"] for path in plan["paths"]} != {1, 2, 3, 4}:
                faults.append(f"{name}: not every pass has its path")
                continue
            for number, offset_mm in enumerate(offsets(plan), start=1):
                share = deviation(plan, number, ring, offset_mm if layer == "PART" else -offset_mm)
                worst, paths = max(worst, share), paths + 1
                if share > 1.0:
                    faults.append(f"{name}, pass {number}: {share:.3g} times the allowed area between path and buffer")
    for fault in faults:
        print(fault, file=sys.stderr)
    verdict = "differ" if faults else "agree"
    print(f"crumbs: paths of {paths} passes {verdict} with shapely {shapely.__version__}, GEOS {shapely.geos_version_string}; "
          f"the farthest by {worst:.2f} of what is allowed")
    return 1 if faults or paths == 0 else 0


def wave(shape, count, decimals):
    """The corners, each once, mm."""
    radius, height, waves = shape
    corners = []
    for i in range(count):
        turn = math.tau * i / count
        r = radius + height * math.sin(waves * turn)
        corner = round(r * math.cos(turn), decimals), round(r * math.sin(turn), decimals)
        if not corners or corner != corners[-1]:
            corners.append(corner)
    return corners[:-1] if corners[0] == corners[-1] else corners


def planned(command, ring, layer):
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder) / "wave.dxf"
        document = ezdxf.new("R2000", units=4)
        document.modelspace().add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})
        document.saveas(drawing)
        run = [command, "plan", drawing, "--thickness", "20", "--material", "tool-steel", "--wire", "0.25", "--passes", "4",
               "--layer", f"{layer}={layer.lower()}", "--formats", "json", "--out", folder]
        done = subprocess.run(run, capture_output=True, text=True, check=False)
        result = drawing.with_suffix(".json")
        return json.loads(result.read_text(encoding="utf-8")) if result.exists() else {"error": done.stderr}


def offsets(plan):
    return [one["offset_mm"] for one in plan["passes"]]


def deviation(plan, number, ring, offset_mm):
    """The area between the paths of a pass and the buffer, as a part of what is allowed."""
    outlines = [flattened(path["vertices"]) for path in plan["paths"] if path["pass"] == number]
    ours = shapely.union_all([shapely.Polygon(outline) for outline in outlines])
    # A chord over an angle a of a round corner rises by r(1 − cos(a/2)).
    quarter = max(8, math.ceil(math.pi / 2 / (2 * math.acos(1 - RISE_MM / abs(offset_mm)))))
    theirs = shapely.Polygon(ring).buffer(offset_mm, quad_segs=quarter)
    return ours.symmetric_difference(theirs).area / (ours.length * (PATH_MM + 2 * RISE_MM))


def flattened(vertices):
    points = []
    for (x, y, bulge), (end_x, end_y, _) in zip(vertices, vertices[1:] + vertices[:1]):
        points.append((x, y))
        if bulge == 0:
            continue
        sweep, center = 4 * math.atan(bulge), bulge_center((x, y), (end_x, end_y), bulge)
        radius, start = abs(bulge_radius((x, y), (end_x, end_y), bulge)), math.atan2(y - center.y, x - center.x)
        count = math.ceil(abs(sweep) * math.sqrt(radius / (8 * RISE_MM)))
        turns = (start + sweep * i / count for i in range(1, count))
        points += [(center.x + radius * math.cos(turn), center.y + radius * math.sin(turn)) for turn in turns]
    return points


if __name__ == "__main__":
    sys.exit(main())
