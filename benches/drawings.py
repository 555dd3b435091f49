#!/usr/bin/env python3
"""Draws what `compare.py` and `memory.py` measure with, into the folder given."""

import math
import sys
from pathlib import Path


def dxf(file, entities):
    head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
    file.write_text(head + "".join(entities) + "0\nENDSEC\n0\nEOF\n")


def line(start, end):
    return (
        f"0\nLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbLine\n10\n{start[0]:.9f}\n20\n{start[1]:.9f}\n30\n0.0\n"
        f"11\n{end[0]:.9f}\n21\n{end[1]:.9f}\n31\n0.0\n"
    )


def rounded_polygon(sides):
    """A regular polygon with rounded corners: as many lines as arcs."""
    entities, inner, radius = [], 30.0, 2.0
    half = math.pi / sides
    flat = inner * math.tan(half) - radius * math.tan(half)
    for k in range(sides):
        turn = 2 * half * k
        along, out = (-math.sin(turn), math.cos(turn)), (math.cos(turn), math.sin(turn))
        ends = [(inner * out[0] + s * flat * along[0], inner * out[1] + s * flat * along[1]) for s in (-1, 1)]
        entities.append(line(*ends))
        center = ends[1][0] - radius * out[0], ends[1][1] - radius * out[1]
        entities.append(
            f"0\nARC\n100\nAcDbEntity\n8\n0\n100\nAcDbCircle\n10\n{center[0]:.9f}\n20\n{center[1]:.9f}\n30\n0.0\n"
            f"40\n{radius}\n100\nAcDbArc\n50\n{math.degrees(turn):.12f}\n51\n{math.degrees(turn + 2 * half):.12f}\n"
        )
    return entities


def wavy(segments, as_lines):
    """A closed contour of many short chords: a circle with 40 waves, about 460 mm long."""
    points = []
    for i in range(segments):
        angle = math.tau * i / segments
        radius = 60 + 3 * math.sin(40 * angle)
        points.append((radius * math.cos(angle), radius * math.sin(angle)))
    if as_lines:
        return [line(a, b) for a, b in zip(points, points[1:] + points[:1])]
    vertices = [f"10\n{x:.9f}\n20\n{y:.9f}\n" for x, y in points]
    head = f"0\nLWPOLYLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n{segments}\n70\n1\n"
    return [head, *vertices]


def in_plate(number, shape):
    """So many small openings of a plate, 4 mm apart, in rows of the same length."""
    row = math.ceil(math.sqrt(number))
    side = 4 * row
    plate = polyline("PLATE", [(-4, -4), (side, -4), (side, side), (-4, side)])
    return [plate] + [shape(4 * (k % row), 4 * (k // row)) for k in range(number)]


def polyline(layer, points):
    vertices = "".join(f"10\n{x:.6f}\n20\n{y:.6f}\n" for x, y in points)
    return f"0\nLWPOLYLINE\n100\nAcDbEntity\n8\n{layer}\n100\nAcDbPolyline\n90\n{len(points)}\n70\n1\n{vertices}"


def hole(x, y):
    return f"0\nCIRCLE\n100\nAcDbEntity\n8\nHOLES\n100\nAcDbCircle\n10\n{x:.6f}\n20\n{y:.6f}\n40\n1.0\n"


def window(x, y):
    return polyline("HOLES", [(x, y), (x + 2, y), (x + 2, y + 2), (x, y + 2)])


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    dxf(folder / "small.dxf", rounded_polygon(30))
    dxf(folder / "wavy-polyline.dxf", wavy(100_000, as_lines=False))
    dxf(folder / "wavy-lines.dxf", wavy(100_000, as_lines=True))
    dxf(folder / "holes.dxf", in_plate(64_000, hole))
    dxf(folder / "windows.dxf", in_plate(64_000, window))
