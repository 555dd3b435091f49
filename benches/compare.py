#!/usr/bin/env python3
"""Measures kerfwright against the same job scripted in Python, and prints one table.

    cargo build --release --locked && .venv/bin/python benches/compare.py > docs/benchmarks.md

Both read the same DXF and write an SVG and a JSON of four passes; whole process each. The processor time (user and
system) and the time on the clock are each the least of several runs taken in turn, so that other work on the machine
counts little; kerfwright uses the cores there are, the script one. Peak memory is the resident set that the kernel
reports for the process, which counts this script's own (some 11 MB) as the least. `KERFWRIGHT` names another binary.
"""

import os
import platform
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WORK = ROOT / "target" / "compare"
OURS = Path(os.environ.get("KERFWRIGHT", ROOT / "target" / "release" / "kerfwright"))
OPTIONS = ["--thickness", "30", "--material", "tool-steel", "--wire", "0.25", "--passes", "4", "--formats", "svg,json"]
CHORD_ERRORS_UM = (0.1, 1.0)


def main():
    WORK.mkdir(parents=True, exist_ok=True)
    # In a process of its own: what this one holds would count for each one that it starts.
    subprocess.run([sys.executable, str(ROOT / "benches" / "drawings.py"), str(WORK)], check=True)
    shapes = ROOT / "fixtures" / "shapes"
    drawings = [
        ("die for a clock hand", ROOT / "fixtures" / "clock" / "hand-die.dxf", 9),
        ("small part, 60 lines and arcs", WORK / "small.dxf", 9),
        ("gear, 24 teeth", shapes / "gear-24.dxf", 9),
        ("plate, 200 holes", shapes / "plate-200-holes.dxf", 5),
        ("100 000 segments, one polyline", WORK / "wavy-polyline.dxf", 3),
        ("100 000 segments, single lines", WORK / "wavy-lines.dxf", 3),
    ]
    startup, startup_clock, _ = least(run([sys.executable, "-c", "import ezdxf, shapely"]) for _ in range(5))
    print("| drawing | kerfwright | | | script, 0.1 µm | | | | script, 1 µm | | | |")
    print("|---|" + "--:|" * 11)
    times = "times slower (less start-up)"
    print(f"| | CPU ms | clock ms | MB | CPU ms | MB | {times}, CPU | clock | CPU ms | MB | {times}, CPU | clock |")
    for name, drawing, runs in drawings:
        commands = [[str(OURS), "plan", str(drawing), *OPTIONS, "--out", str(WORK / "ours")]]
        for error in CHORD_ERRORS_UM:
            script = str(ROOT / "benches" / "scripted_plan.py")
            commands.append([sys.executable, script, str(drawing), str(error), str(WORK / f"script-{error}")])
        measured = [[] for _ in commands]
        for _ in range(runs):
            for command, results in zip(commands, measured):
                results.append(run(command))
        (ours, ours_clock, ours_mb), *scripts = map(least, measured)
        cells = [name, f"{ours * 1e3:.1f}", f"{ours_clock * 1e3:.1f}", f"{ours_mb:.0f}"]
        for seconds, clock, megabytes in scripts:
            by_cpu = ratio(seconds, ours, startup)
            cells += [f"{seconds * 1e3:.0f}", f"{megabytes:.0f}", by_cpu, ratio(clock, ours_clock, startup_clock)]
        print("| " + " | ".join(cells) + " |", flush=True)
    print()
    print(f"Start-up of the script (importing ezdxf and shapely): {startup * 1e3:.0f} ms.")
    print(f"Machine: {os.cpu_count()} cores, {processor()}, {platform.system()}, Python {platform.python_version()}.")


def least(results):
    """The least of each figure of several runs."""
    return tuple(map(min, zip(*results)))


def ratio(script, ours, startup):
    return f"{script / ours:.2g} ({max(script - startup, 0) / ours:.2g})"


def run(command):
    """Processor seconds, seconds on the clock and peak megabytes of one whole process; a failure of it ends the comparison."""
    begun = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    talk = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    # 1 is kerfwright's "a check found an error": the job was done.
    if process.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)}\n{talk.decode()}")
    return usage.ru_utime + usage.ru_stime, time.perf_counter() - begun, usage.ru_maxrss / 1024


def processor():
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.machine()


if __name__ == "__main__":
    main()
