#!/usr/bin/env python3
"""The job of `kerfwright plan`, scripted on general-purpose libraries: ezdxf reads, shapely offsets.

    scripted_plan.py DRAWING CHORD_ERROR_UM OUT_FOLDER

Reads the DXF, flattens arcs within the chord error, chains, nests, offsets every contour at the four offsets of
0.25 mm wire with round joints within the chord error, writes an SVG and a JSON. No verifier, no checks, no estimate.
"""

import json
import math
import sys
from pathlib import Path

import ezdxf
import shapely

OFFSETS_MM = (0.197, 0.152, 0.137, 0.130)
JOIN_MM = 1e-3


def main():
    drawing, chord_error_mm, out = Path(sys.argv[1]), float(sys.argv[2]) / 1000, Path(sys.argv[3])
    loops = chain(curves(ezdxf.readfile(drawing).modelspace(), chord_error_mm))
    polygons = [shapely.Polygon(loop) for loop in loops]
    tree = shapely.STRtree(polygons)
    rows, shapes = [], []
    for number, polygon in enumerate(polygons, 1):
        inside = [i for i in tree.query(polygon, predicate="within") if polygons[i] is not polygon]
        role = "opening" if len(inside) % 2 else "outside"
        shapes.append(polygon)
        paths = []
        for number_of_pass, offset in enumerate(OFFSETS_MM, 1):
            step = 2 * math.acos(1 - chord_error_mm / offset)
            path = polygon.buffer(offset if role == "outside" else -offset, quad_segs=math.ceil(math.pi / 2 / step))
            shapes.append(path)
            for part in shapely.get_parts(path):
                vertices = shapely.get_coordinates(part.exterior).tolist()
                paths.append({"pass": number_of_pass, "length_mm": part.exterior.length, "vertices": vertices})
        rows.append(
            {
                "id": number,
                "role": role,
                "perimeter_mm": polygon.exterior.length,
                "area_mm2": polygon.area,
                "paths": paths,
            }
        )
    out.mkdir(parents=True, exist_ok=True)
    (out / f"{drawing.stem}.json").write_text(json.dumps({"contours": rows}))
    (out / f"{drawing.stem}.svg").write_text(svg(shapes))


def curves(entities, chord_error_mm):
    """Point lists; arcs flattened within the chord error."""
    for entity in entities:
        kind = entity.dxftype()
        if kind == "LINE":
            yield [tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]]
        elif kind in ("CIRCLE", "ARC"):
            a0, sweep = 0.0, math.tau
            if kind == "ARC":
                a0 = math.radians(entity.dxf.start_angle)
                sweep = (math.radians(entity.dxf.end_angle) - a0) % math.tau
            yield arc(tuple(entity.dxf.center)[:2], entity.dxf.radius, a0, sweep, chord_error_mm)
        elif kind == "LWPOLYLINE":
            vertices = entity.get_points("xyb")
            following = vertices[1:] + vertices[:1] if entity.closed else vertices[1:]
            points = [vertices[0][:2]]
            for (x0, y0, bulge), (x1, y1, _) in zip(vertices, following):
                if bulge:
                    center, a0, _, radius = ezdxf.math.bulge_to_arc((x0, y0), (x1, y1), bulge)
                    a0 = math.atan2(y0 - center.y, x0 - center.x)
                    points += arc((center.x, center.y), radius, a0, 4 * math.atan(bulge), chord_error_mm)[1:-1]
                points.append((x1, y1))
            yield points


def arc(center, radius, a0, sweep, chord_error_mm):
    step = 2 * math.acos(1 - min(chord_error_mm / radius, 1))
    count = max(1, math.ceil(abs(sweep) / step))
    angles = (a0 + sweep * i / count for i in range(count + 1))
    return [(center[0] + radius * math.cos(a), center[1] + radius * math.sin(a)) for a in angles]


def chain(pieces):
    """Joins curves end to end by a table of their rounded ends; yields closed loops."""

    def key(point):
        return round(point[0] / JOIN_MM), round(point[1] / JOIN_MM)

    ends, loose = {}, []
    for piece in pieces:
        if math.dist(piece[0], piece[-1]) <= JOIN_MM:
            yield piece
            continue
        for point in (piece[0], piece[-1]):
            ends.setdefault(key(point), []).append(len(loose))
        loose.append(piece)
    used = [False] * len(loose)
    for first in range(len(loose)):
        if used[first]:
            continue
        used[first] = True
        loop = list(loose[first])
        while math.dist(loop[0], loop[-1]) > JOIN_MM:
            following = next((i for i in ends[key(loop[-1])] if not used[i]), None)
            if following is None:
                break
            used[following] = True
            piece = loose[following]
            loop.extend(piece[1:] if math.dist(piece[0], loop[-1]) <= JOIN_MM else piece[-2::-1])
        else:
            yield loop


def svg(shapes):
    x0, y0, x1, y1 = shapely.total_bounds(shapes)
    paths = []
    for shape in shapes:
        for part in shapely.get_parts(shape):
            points = " L".join(f"{x:.4f} {-y:.4f}" for x, y in shapely.get_coordinates(part.exterior))
            paths.append(f'<path d="M{points} Z" fill="none" stroke="black" stroke-width="0.02"/>')
    box = f"{x0:.3f} {-y1:.3f} {x1 - x0:.3f} {y1 - y0:.3f}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}">\n' + "\n".join(paths) + "\n</svg>\n"


if __name__ == "__main__":
    main()
