#!/usr/bin/env python3
"""The paths that kerfwright writes as DXF, read back and measured with the general-purpose DXF library ezdxf.

For every drawing of fixtures/clock and fixtures/shapes the command given as the first argument plans passes. ezdxf must
find no fault in the DXF file, read every layer of the wire's centre as closed polylines, and measure on each the length
and the enclosed area that the JSON of the same plan gives, to 1e-9 relative. Lines and arcs by closed form.
"""

import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
from lengths import FIXTURES, bulged

RELATIVE = 1e-9
# Codes of $INSUNITS that our drawings use.
MM = {1: 25.4, 4: 1.0}
WIRE = "wire centre "
PASSES = 3


def main():
    command = Path(sys.argv[1]).resolve()
    faults, layers, drawings = [], 0, 0
    for drawing in sorted([*FIXTURES.glob("clock/*.dxf"), *FIXTURES.glob("shapes/*.dxf")]):
        with tempfile.TemporaryDirectory() as out:
            run = [command, "plan", drawing, "--thickness", "20", "--material", "tool-steel", "--wire", "0.25",
                   "--passes", str(PASSES), "--formats", "dxf,json", "--out", out]
            done = subprocess.run(run, capture_output=True, text=True, check=False)
            if done.returncode not in (0, 1):
                faults.append(f"{drawing.name}: {done.stderr}")
                continue
            plan = json.loads((Path(out) / f"{drawing.stem}.json").read_text(encoding="utf-8"))
            found = list(compare(drawing.name, Path(out) / f"{drawing.stem}-paths.dxf", plan))
        drawings += 1
        layers += sum(1 for fault in found if fault is None)
        faults += [fault for fault in found if fault is not None]
    for fault in faults:
        print(fault, file=sys.stderr)
    if drawings == 0 or layers < drawings * PASSES:
        faults.append("too little was compared")
        print(f"only {layers} layers of {drawings} drawings were compared", file=sys.stderr)
    verdict = "differs" if faults else "agrees"
    print(f"paths as DXF: {layers} layers of {drawings} drawings read by ezdxf {ezdxf.__version__}: "
          f"{verdict} with the JSON, to {RELATIVE:g} relative")
    return 1 if faults else 0


def compare(name, file, plan):
    """A fault in words, or None for each layer that agrees."""
    document = ezdxf.readfile(file)
    for error in document.audit().errors:
        yield f"{name}: {error.message}"
    mm = MM[document.header["$INSUNITS"]]
    model = document.modelspace()
    for number in sorted({path["pass"] for path in plan["paths"]}):
        layer = f"{WIRE}pass {number} - machine compensation off"
        expected = [path for path in plan["paths"] if path["pass"] == number]
        lines = list(model.query(f'LWPOLYLINE[layer=="{layer}"]'))
        if len(lines) != len(expected) or not all(line.closed for line in lines):
            yield f"{name}, {layer}: {len(lines)} polylines, not {len(expected)} closed ones"
            continue
        length = sum(loop(line)[0] for line in lines) * mm
        area = sum(loop(line)[1] for line in lines) * mm**2
        wanted = math.fsum(path["length_mm"] for path in expected)
        wanted_area = math.fsum(enclosed(path["vertices"]) for path in expected)
        if not math.isclose(length, wanted, rel_tol=RELATIVE):
            yield f"{name}, {layer}: {length!r} mm long, the JSON has {wanted!r}"
        elif not math.isclose(area, wanted_area, rel_tol=RELATIVE):
            yield f"{name}, {layer}: {area!r} mm² enclosed, the JSON has {wanted_area!r}"
        else:
            yield None


def loop(line):
    """Length and enclosed area of a closed polyline."""
    points = [(x, y, bulge) for x, y, bulge in line.get_points("xyb")]
    return measured(points)


def enclosed(vertices):
    return measured(vertices)[1]


def measured(points):
    pieces = [bulged((x, y), (a, b), bulge) for (x, y, bulge), (a, b, _) in zip(points, points[1:] + points[:1])]
    return math.fsum(piece.length for piece in pieces), math.fsum(piece.swept for piece in pieces)


if __name__ == "__main__":
    sys.exit(main())
