#!/usr/bin/env python3
"""Measures kerfwright against the same job scripted in Python, and prints one table.

    cargo build --release --locked && .venv/bin/python benches/compare.py > docs/benchmarks.md

Both read the same DXF and write an SVG and a JSON of four passes; whole process each, best of several runs taken in
turn. Peak memory is the resident set that the kernel reports for the child.
"""

import math
import os
import platform
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WORK = ROOT / "target" / "compare"
OURS = ROOT / "target" / "release" / "kerfwright"
OPTIONS = ["--thickness", "30", "--material", "tool-steel", "--wire", "0.25", "--passes", "4"]
CHORD_ERRORS_UM = (0.1, 1.0)


def main():
    WORK.mkdir(parents=True, exist_ok=True)
    drawings = [
        ("small part, 60 lines and arcs", rounded_polygon(30), 9),
        ("gear, 24 teeth", ROOT / "fixtures" / "shapes" / "gear-24.dxf", 9),
        ("plate, 200 holes", ROOT / "fixtures" / "shapes" / "plate-200-holes.dxf", 5),
        ("100 000 segments, one polyline", wavy(100_000, as_lines=False), 3),
        ("100 000 segments, single lines", wavy(100_000, as_lines=True), 3),
    ]
    startup = min(run([sys.executable, "-c", "import ezdxf, shapely"])[0] for _ in range(5))
    print("| drawing | kerfwright | | script, 0.1 µm | | | script, 1 µm | | |")
    print("|---|--:|--:|--:|--:|--:|--:|--:|--:|")
    print("| | ms | MB | ms | MB | times slower (less start-up) | ms | MB | times slower (less start-up) |")
    for name, drawing, runs in drawings:
        commands = [[str(OURS), "plan", str(drawing), *OPTIONS, "--out", str(WORK / "ours")]]
        for error in CHORD_ERRORS_UM:
            script = str(ROOT / "benches" / "scripted_plan.py")
            commands.append([sys.executable, script, str(drawing), str(error), str(WORK / f"script-{error}")])
        best = [(math.inf, 0)] * len(commands)
        for _ in range(runs):
            for i, command in enumerate(commands):
                best[i] = min(best[i], run(command))
        (ours, ours_mb), *scripts = best
        cells = [name, f"{ours * 1e3:.1f}", f"{ours_mb:.0f}"]
        for seconds, megabytes in scripts:
            ratio, bare = seconds / ours, max(seconds - startup, 0) / ours
            cells += [f"{seconds * 1e3:.0f}", f"{megabytes:.0f}", f"{ratio:.0f} ({bare:.0f})"]
        print("| " + " | ".join(cells) + " |", flush=True)
    print()
    print(f"Start-up of the script (importing ezdxf and shapely): {startup * 1e3:.0f} ms.")
    print(f"Machine: {os.cpu_count()} cores, {processor()}, {platform.system()}, Python {platform.python_version()}.")


def run(command):
    """Seconds and peak megabytes of one whole process; a failure of it ends the comparison."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    talk = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    # 1 is kerfwright's "a check found an error": the job was done.
    if process.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)}\n{talk.decode()}")
    return seconds, usage.ru_maxrss / 1024


def processor():
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.machine()


def dxf(name, entities):
    file = WORK / name
    head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
    file.write_text(head + "".join(entities) + "0\nENDSEC\n0\nEOF\n")
    return file


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
    return dxf("small.dxf", entities)


def wavy(segments, as_lines):
    """A closed contour of many short chords: a circle with 40 waves, about 460 mm long."""
    points = []
    for i in range(segments):
        angle = math.tau * i / segments
        radius = 60 + 3 * math.sin(40 * angle)
        points.append((radius * math.cos(angle), radius * math.sin(angle)))
    if as_lines:
        return dxf("wavy-lines.dxf", [line(a, b) for a, b in zip(points, points[1:] + points[:1])])
    vertices = [f"10\n{x:.9f}\n20\n{y:.9f}\n" for x, y in points]
    head = f"0\nLWPOLYLINE\n100\nAcDbEntity\n8\n0\n100\nAcDbPolyline\n90\n{segments}\n70\n1\n"
    return dxf("wavy-polyline.dxf", [head, *vertices])


if __name__ == "__main__":
    main()
