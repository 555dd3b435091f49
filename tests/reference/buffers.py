#!/usr/bin/env python3
"""Buffers of our own drawings by the general-purpose polygon library shapely (GEOS): area and length of the
wire's path at the four offsets of 0.25 mm wire, outward and inward of every loop.

Polygons have no arcs. Each loop is buffered at two resolutions, the second twice as fine, and the error, which
falls with the square of the step, is extrapolated away (Richardson). The accuracy stated beside each figure is the
whole step from the finer resolution to the extrapolated figure: pessimistic, since most of that step is known.
Chords are a tenth and a twentieth of the smallest offset: shorter ones turn negative buffers of GEOS astray.

Writes buffers.json; with --check it measures anew and compares instead.
"""

import math
import sys

import ezdxf
import shapely
from ezdxf.math import bulge_center, bulge_radius
from frozen import keep_or_check
from lengths import FIXTURES, MM, chains

# Rough cut and three skims of 0.25 mm wire: wire radius + spark gap + stock, mm.
OFFSETS_MM = (0.197, 0.152, 0.137, 0.130)
CHORD_MM = min(OFFSETS_MM) / 10
QUAD_SEGMENTS = 64


def arc_points(center, radius, a0, sweep, fineness):
    """Points after the first one, about CHORD_MM / fineness apart."""
    count = max(2, math.ceil(abs(sweep) * radius / CHORD_MM)) * fineness
    for i in range(1, count + 1):
        angle = a0 + sweep * i / count
        yield center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle)


class Line:
    """Points from end to end."""

    def __init__(self, points):
        self.points, self.start, self.end = points, points[0], points[-1]

    def reversed(self):
        return Line(self.points[::-1])


def polylines(document, fineness):
    """(layer, points in mm) of every line, arc, circle and polyline of model space."""
    mm = MM[document.header["$INSUNITS"]]
    for entity in document.modelspace():
        kind, layer = entity.dxftype(), entity.dxf.layer
        if kind == "LINE":
            yield layer, [scaled(entity.dxf.start, mm), scaled(entity.dxf.end, mm)]
        elif kind in ("CIRCLE", "ARC"):
            a0, sweep = 0.0, math.tau
            if kind == "ARC":
                a0 = math.radians(entity.dxf.start_angle)
                sweep = (math.radians(entity.dxf.end_angle) - a0) % math.tau
            center, radius = scaled(entity.dxf.center, mm), entity.dxf.radius * mm
            first = center[0] + radius * math.cos(a0), center[1] + radius * math.sin(a0)
            yield layer, [first, *arc_points(center, radius, a0, sweep, fineness)]
        elif kind in ("LWPOLYLINE", "POLYLINE"):
            if kind == "LWPOLYLINE":
                vertices = [((x * mm, y * mm), bulge) for x, y, bulge in entity.get_points("xyb")]
            else:
                vertices = [(scaled(v.dxf.location, mm), v.dxf.bulge) for v in entity.vertices]
            points = [vertices[0][0]]
            for (start, bulge), (end, _) in zip(vertices, vertices[1:] + vertices[:1]):
                if bulge == 0:
                    points.append(end)
                    continue
                center = bulge_center(start, end, bulge)
                radius = abs(bulge_radius(start, end, bulge))
                a0 = math.atan2(start[1] - center.y, start[0] - center.x)
                points.extend(arc_points((center.x, center.y), radius, a0, 4 * math.atan(bulge), fineness))
                points[-1] = end
            yield layer, points


def scaled(point, mm):
    return point[0] * mm, point[1] * mm


def loops(document, fineness):
    """Polygons by layer, largest first; of equal ones only the first."""
    lines, polygons = {}, {}
    for layer, points in polylines(document, fineness):
        lines.setdefault(layer, []).append(Line(points))
    for layer in lines:
        for closed, chain in chains(lines[layer]):
            if closed:
                # Each joint once: a chord of 1e-13 mm between two roundings of it would turn GEOS astray.
                ring = [point for line in chain for point in line.points[:-1]]
                polygons.setdefault(layer, []).append(shapely.Polygon(ring))
    for layer in sorted(polygons):
        seen = set()
        for polygon in sorted(polygons[layer], key=lambda polygon: -polygon.area):
            if round(polygon.area, 6) not in seen:
                seen.add(round(polygon.area, 6))
                yield layer, polygon


def measured(polygon, offset, fineness):
    buffered = polygon.buffer(offset, quad_segs=QUAD_SEGMENTS * fineness)
    return len(shapely.get_parts(buffered)), buffered.area, buffered.length


def answers(file):
    document = ezdxf.readfile(file)
    rows = []
    for (layer, coarse), (_, fine) in zip(loops(document, 1), loops(document, 2), strict=True):
        row = {"layer": layer, "area_mm2": (4 * fine.area - coarse.area) / 3, "outward": [], "inward": []}
        for side, sign in (("outward", 1), ("inward", -1)):
            for offset in OFFSETS_MM:
                parts, a1, l1 = measured(coarse, sign * offset, 1)
                parts_fine, a2, l2 = measured(fine, sign * offset, 2)
                if parts != parts_fine:
                    raise SystemExit(f"{file.name}: {layer} at {sign * offset}: {parts} or {parts_fine} parts?")
                row[side].append(
                    {
                        "offset_mm": offset,
                        "loops": parts,
                        "area_mm2": (4 * a2 - a1) / 3,
                        "area_accuracy_mm2": abs(a2 - a1) / 3,
                        "length_mm": (4 * l2 - l1) / 3,
                        "length_accuracy_mm": abs(l2 - l1) / 3,
                    }
                )
        rows.append(row)
    return rows


if __name__ == "__main__":
    # The decorative hand is left out: its splines and ellipse are arcs by then, and those are ours.
    files = sorted(path for folder in ("clock", "shapes") for path in (FIXTURES / folder).glob("*.dxf"))
    chosen = {f"{p.parent.name}/{p.stem}": answers(p) for p in files if p.stem != "decorative-hand"}
    source = f"shapely {shapely.__version__} on GEOS {shapely.geos_version_string}, tests/reference/buffers.py"
    sys.exit(keep_or_check("buffers.json", source, chosen, relative=1e-9))
