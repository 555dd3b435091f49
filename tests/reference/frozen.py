"""Keeps the answers of a reference library in a file, or checks that they still come out the same."""

import json
import math
import sys
from pathlib import Path


def keep_or_check(name, source, answers, relative):
    """Writes `name` beside this file, or with --check compares with it; returns the exit code."""
    file = Path(__file__).resolve().parent / name
    fresh = {"source": source, "answers": answers}
    if "--check" not in sys.argv:
        file.write_text(json.dumps(fresh, indent=1) + "\n", encoding="utf-8")
        print(f"frozen: {file.name}, {count(answers)} values from {source}")
        return 0
    differences = list(compare(json.loads(file.read_text(encoding="utf-8")), fresh, relative, ""))
    for difference in differences:
        print(f"{file.name}{difference}", file=sys.stderr)
    verdict = "differs from" if differences else "agrees with"
    print(f"{file.name}: {count(answers)} values from {source}: {verdict} what is frozen, to {relative:g} relative")
    return 1 if differences else 0


def compare(old, new, relative, where):
    if isinstance(old, dict) and isinstance(new, dict) and old.keys() == new.keys():
        for key in old:
            yield from compare(old[key], new[key], relative, f"/{key}" if not where else f"{where}/{key}")
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for i, (a, b) in enumerate(zip(old, new)):
            yield from compare(a, b, relative, f"{where}[{i}]")
    elif isinstance(old, (int, float)) and isinstance(new, (int, float)):
        if not math.isclose(old, new, rel_tol=relative, abs_tol=1e-12):
            yield f"{where}: frozen {old!r}, now {new!r}"
    elif old != new:
        yield f"{where}: frozen {old!r}, now {new!r}"


def count(value):
    if isinstance(value, dict):
        return sum(count(v) for v in value.values())
    if isinstance(value, list):
        return sum(count(v) for v in value)
    return int(isinstance(value, (int, float, str)))
