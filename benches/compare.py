#!/usr/bin/env python3
"""Measures kerfwright against the same job scripted in Python, and prints one table.

    cargo build --release --locked && .venv/bin/python benches/compare.py > docs/benchmarks.md

Both read the same DXF and write an SVG and a JSON of four passes; whole process each, least processor time (user and
system; both are single-threaded) of several runs taken in turn, so that other work on the machine counts little. Peak memory is the resident set that the kernel reports for the process, which counts this script's own (some 12 MB)
as the least.
"""

import math
import os
import platform
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WORK = ROOT / "target" / "compare"
OURS = ROOT / "target" / "release" / "kerfwright"
OPTIONS = ["--thickness", "30", "--material", "tool-steel", "--wire", "0.25", "--passes", "4"]
CHORD_ERRORS_UM = (0.1, 1.0)


def main():
    WORK.mkdir(parents=True, exist_ok=True)
    # In a process of its own: what this one holds would count for each one that it starts.
    subprocess.run([sys.executable, str(ROOT / "benches" / "drawings.py"), str(WORK)], check=True)
    shapes = ROOT / "fixtures" / "shapes"
    drawings = [
        ("small part, 60 lines and arcs", WORK / "small.dxf", 9),
        ("gear, 24 teeth", shapes / "gear-24.dxf", 9),
        ("plate, 200 holes", shapes / "plate-200-holes.dxf", 5),
        ("100 000 segments, one polyline", WORK / "wavy-polyline.dxf", 2),
        ("100 000 segments, single lines", WORK / "wavy-lines.dxf", 2),
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
            cells += [f"{seconds * 1e3:.0f}", f"{megabytes:.0f}", f"{ratio:.2g} ({bare:.2g})"]
        print("| " + " | ".join(cells) + " |", flush=True)
    print()
    print(f"Start-up of the script (importing ezdxf and shapely): {startup * 1e3:.0f} ms.")
    print(f"Machine: {os.cpu_count()} cores, {processor()}, {platform.system()}, Python {platform.python_version()}.")


def run(command):
    """Processor seconds and peak megabytes of one whole process; a failure of it ends the comparison."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    talk = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    # 1 is kerfwright's "a check found an error": the job was done.
    if process.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)}\n{talk.decode()}")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def processor():
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.machine()


if __name__ == "__main__":
    main()
