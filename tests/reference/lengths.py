#!/usr/bin/env python3
"""Lengths and loops of our own drawings, measured with the general-purpose DXF library ezdxf.

Lines, arcs and bulges by closed form, ellipses and splines by Gauss-Legendre quadrature of the derivatives that
ezdxf gives. Everything in mm. Writes lengths.json; with --check it measures anew and compares instead.
"""

import math
import sys
from pathlib import Path

import ezdxf
import numpy as np
from ezdxf.math import bulge_center, bulge_radius
from frozen import keep_or_check

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
MM = {1: 25.4, 4: 1.0}
# Ends this close are one point; the drawings carry twelve decimals.
JOIN_MM = 1e-6
# Nodes and weights on [-1, 1]; 40 nodes a span leave an error far below 1e-12 for our curves.
NODES, WEIGHTS = np.polynomial.legendre.leggauss(40)


class Piece:
    """One curve: its ends, its length, and its share of the area integral, half of (x dy - y dx)."""

    def __init__(self, start, end, length, swept):
        self.start, self.end, self.length, self.swept = start, end, length, swept

    def reversed(self):
        return Piece(self.end, self.start, self.length, -self.swept)


def line(start, end):
    swept = 0.5 * (start[0] * end[1] - end[0] * start[1])
    return Piece(start, end, math.dist(start, end), swept)


def arc(center, radius, a0, a1):
    """Counter-clockwise from angle a0 to a1 > a0, radians."""
    start = (center[0] + radius * math.cos(a0), center[1] + radius * math.sin(a0))
    end = (center[0] + radius * math.cos(a1), center[1] + radius * math.sin(a1))
    swept = 0.5 * (radius**2 * (a1 - a0) + center[0] * (end[1] - start[1]) - center[1] * (end[0] - start[0]))
    return Piece(start, end, radius * (a1 - a0), swept)


def bulged(start, end, bulge):
    if bulge == 0:
        return line(start, end)
    center = bulge_center(start, end, bulge)
    radius = abs(bulge_radius(start, end, bulge))
    sweep = 4 * math.atan(abs(bulge))
    first = start if bulge > 0 else end
    a0 = math.atan2(first[1] - center.y, first[0] - center.x)
    piece = arc((center.x, center.y), radius, a0, a0 + sweep)
    if bulge < 0:
        piece = piece.reversed()
    piece.start, piece.end = start, end
    return piece


def quadrature(spans, point_and_derivative):
    length = swept = 0.0
    for t0, t1 in spans:
        for node, weight in zip(NODES, WEIGHTS):
            t = 0.5 * (t0 + t1) + 0.5 * (t1 - t0) * node
            (x, y), (dx, dy) = point_and_derivative(t)
            length += 0.5 * (t1 - t0) * weight * math.hypot(dx, dy)
            swept += 0.5 * (t1 - t0) * weight * 0.5 * (x * dy - y * dx)
    return length, swept


def pieces(entity):
    kind = entity.dxftype()
    if kind == "LINE":
        yield line(tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2])
    elif kind == "CIRCLE":
        yield arc(tuple(entity.dxf.center)[:2], entity.dxf.radius, 0.0, math.tau)
    elif kind == "ARC":
        a0, a1 = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
        yield arc(tuple(entity.dxf.center)[:2], entity.dxf.radius, a0, a0 + (a1 - a0) % math.tau)
    elif kind in ("LWPOLYLINE", "POLYLINE"):
        if kind == "LWPOLYLINE":
            vertices = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
            closed = entity.closed
        else:
            vertices = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in entity.vertices]
            closed = entity.is_closed
        following = vertices[1:] + vertices[:1] if closed else vertices[1:]
        for here, there in zip(vertices, following):
            yield bulged(here[:2], there[:2], here[2])
    elif kind == "ELLIPSE":
        tool = entity.construction_tool()
        center, major, minor = tool.center, tool.major_axis, tool.minor_axis

        def ellipse(t):
            c, s = math.cos(t), math.sin(t)
            at = center + major * c + minor * s
            along = minor * c - major * s
            return (at.x, at.y), (along.x, along.y)

        a0, a1 = tool.start_param, tool.start_param + tool.param_span
        spans = [(a0 + (a1 - a0) * i / 16, a0 + (a1 - a0) * (i + 1) / 16) for i in range(16)]
        yield Piece(ellipse(a0)[0], ellipse(a1)[0], *quadrature(spans, ellipse))
    elif kind == "SPLINE":
        tool = entity.construction_tool()

        def spline(t):
            at, along = tool.derivative(t, 1)
            return (at.x, at.y), (along.x, along.y)

        knots = sorted(set(tool.knots()))
        ends = tuple(tool.control_points[0])[:2], tuple(tool.control_points[-1])[:2]
        yield Piece(*ends, *quadrature(list(zip(knots, knots[1:])), spline))


def chains(loose):
    """Joins pieces end to end; yields (closed, pieces)."""
    loose = list(loose)
    while loose:
        chain = [loose.pop()]
        while math.dist(chain[-1].end, chain[0].start) > JOIN_MM:
            here = chain[-1].end
            for i, piece in enumerate(loose):
                if math.dist(piece.start, here) <= JOIN_MM or math.dist(piece.end, here) <= JOIN_MM:
                    loose.pop(i)
                    chain.append(piece if math.dist(piece.start, here) <= JOIN_MM else piece.reversed())
                    break
            else:
                break
        yield math.dist(chain[-1].end, chain[0].start) <= JOIN_MM, chain


def measure(file):
    document = ezdxf.readfile(file)
    mm = MM[document.header["$INSUNITS"]]
    loops, open_lengths, total = [], [], 0.0
    by_layer = {}
    for entity in document.modelspace():
        by_layer.setdefault(entity.dxf.layer, []).extend(pieces(entity))
    for layer in sorted(by_layer):
        for closed, chain in chains(by_layer[layer]):
            length = sum(piece.length for piece in chain) * mm
            total += length
            if closed:
                area = abs(sum(piece.swept for piece in chain)) * mm * mm
                loops.append({"layer": layer, "length_mm": length, "area_mm2": area})
            else:
                open_lengths.append(length)
    loops.sort(key=lambda loop: (loop["layer"], -round(loop["area_mm2"], 6)))
    return {"curve_length_mm": total, "open_lengths_mm": sorted(open_lengths), "loops": loops}


if __name__ == "__main__":
    files = sorted(path for folder in ("clock", "shapes") for path in (FIXTURES / folder).glob("*.dxf"))
    answers = {f"{path.parent.name}/{path.stem}": measure(path) for path in files}
    source = f"ezdxf {ezdxf.__version__}, tests/reference/lengths.py"
    sys.exit(keep_or_check("lengths.json", source, answers, relative=1e-10))
