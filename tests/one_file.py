"""Holds what the program inside the one-file page answers against what the command writes: every drawing of the fixtures, and of
the folders that are named, byte for byte.

    target/page/tools/bin/python tests/one_file.py COMMAND PROGRAM.wasm [FOLDER …]

Ends with one line: N drawings, N files agree, N differ.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "packaging" / "one-file"))
import program

# Of the page, and the ending that the command gives to the same.
FILES = {"/sheet.svg": ".svg", "/plan.json": ".json", "/paths.dxf": "-paths.dxf", "/job-sheet.html": ".html"}

JOBS = [
    (["--material", "tool-steel", "--thickness", "20", "--wire", "0.25", "--wire-kind", "brass", "--passes", "3", "--assume-sides"],
     {"material": "tool-steel", "thickness_mm": 20, "wire_mm": 0.25, "wire_kind": "brass", "passes": 3, "assume_sides": True}),
    (["--material", "carbide", "--thickness", "8", "--finish", "N5"],
     {"material": "carbide", "thickness_mm": 8, "finish": "N5"}),
]


def main(command, wasm, *folders):
    inside = program.Program(wasm)
    drawings = sorted(drawing for folder in [ROOT / "fixtures", *folders] for drawing in Path(folder).resolve().rglob("*.dxf"))
    agreed, differing = 0, []
    for drawing in drawings:
        for options, job in JOBS:
            written = by_command(Path(command).resolve(), drawing, options)
            for path, ending in FILES.items():
                status, _, answer = inside.ask("POST", path, {"x-kerfwright-ask": json.dumps({"file": drawing.name, "job": job})}, drawing.read_bytes())
                right = written.get(drawing.stem + ending)
                if answer == right if status == 200 else right is None:
                    agreed += 1
                else:
                    differing.append(f"{drawing} {path} {options[1]}: {difference(status, answer, right)}")
    print("\n".join(differing[:40]))
    print(f"{len(drawings)} drawings, {agreed} files agree, {len(differing)} differ")
    return 1 if differing or not agreed else 0


def by_command(command, drawing, options):
    """Returns the files that the command writes, by name."""
    with tempfile.TemporaryDirectory() as folder:
        arguments = [command, "plan", drawing.name, *options, "--out", folder]
        subprocess.run(arguments, cwd=drawing.parent, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        return {path.name: path.read_bytes() for path in Path(folder).iterdir()}


def difference(status, answer, right):
    if right is None:
        return "the command writes none"
    if status != 200:
        return f"refused: {answer[:200]!r}"
    at = next((i for i, (a, b) in enumerate(zip(answer, right)) if a != b), min(len(answer), len(right)))
    return f"at byte {at}: {answer[max(0, at - 60):at + 30]!r}, the command {right[max(0, at - 10):at + 30]!r}"


sys.exit(main(*sys.argv[1:]))
