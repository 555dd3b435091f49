#!/usr/bin/env python3
"""Measures the peak of memory of `plan`, four passes, and prints one table beside what it may take.

    cargo build --release --locked && python3 benches/memory.py

The peak is the resident set that the kernel reports for the whole process. It may take 12 MB and 200 bytes for each node of all paths, or
2 kB for each pass of a small contour where that is more. `KERFWRIGHT` names another binary; the nodes are counted by the one built here.
"""

import os
import subprocess
import sys
from pathlib import Path

from compare import run

ROOT = Path(__file__).resolve().parents[1]
WORK = ROOT / "target" / "memory"
BUILT = ROOT / "target" / "release" / "kerfwright"
OURS = Path(os.environ.get("KERFWRIGHT", BUILT))
JOB = ["--thickness", "30", "--material", "tool-steel", "--wire", "0.25", "--passes", "4"]
FORMS = {
    "terminal": [],
    "JSON": ["--json"],
    "SVG": ["--svg"],
    "all four files": ["--out", WORK / "out", "--overwrite"],
}


def main():
    WORK.mkdir(parents=True, exist_ok=True)
    subprocess.run([sys.executable, ROOT / "benches" / "drawings.py", WORK], check=True)
    print("| drawing | nodes | contours × passes | may take, MB |", " | ".join(f"{form}, MB" for form in FORMS), "|")
    print("|---|" + "--:|" * (3 + len(FORMS)))
    for name, drawing in [
        ("100 000 segments, one polyline", "wavy-polyline.dxf"),
        ("100 000 segments, single lines", "wavy-lines.dxf"),
        ("plate, 64 000 holes", "holes.dxf"),
        ("plate, 64 000 square openings", "windows.dxf"),
    ]:
        paths, nodes = counted(WORK / drawing)
        bound_mb = max(12 + 200e-6 * nodes, 12 + 2e-3 * paths)
        peaks = [f"{peak_mb([OURS, 'plan', WORK / drawing, *JOB, *options]):.0f}" for options in FORMS.values()]
        print(f"| {name} | {nodes} | {paths} | {bound_mb:.0f} | {' | '.join(peaks)} |", flush=True)


def counted(drawing):
    """How many paths there are, and nodes on them: the JSON of a large plan has a line for each."""
    command = subprocess.Popen([BUILT, "plan", drawing, *JOB, "--json"], stdout=subprocess.PIPE, text=True)
    paths, nodes, within = 0, 0, False
    for line in command.stdout:
        if line.startswith('"'):
            within = line.startswith('"paths":')
        elif within:
            paths += 1
            # Each vertex is a list, in the list of them; the last path ends that of the paths.
            nodes += line.count("[") - 1
    command.wait()
    return paths, nodes


def peak_mb(command):
    _, _, megabytes = run([str(word) for word in command])
    return megabytes


if __name__ == "__main__":
    main()
