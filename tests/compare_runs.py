"""Compares every number, name and finding of two builds of the command over all drawings that are at hand.

    python3 tests/compare_runs.py OLD NEW [--jobs 2] [--expected FILE.tsv] [--only WORD] [--drawings FOLDER]

Both programs are run with the same arguments over every drawing of `fixtures` and of the folder of real drawings (that of
KERFWRIGHT_REAL_DRAWINGS, else `../shared/drawings/real`), each with several jobs, and over the book, the log of jobs, the
schemas and the names of commands and options. Compared are exit codes, numbers and names:

- JSON: every key, number and word; of a text meant for people only the numbers in it and the names of findings;
- CSV: every cell by the name of its column, texts as in JSON, but for the `key` of a row of quotes;
- DXF: every pair of group code and value; SVG: elements, geometry and classes; HTML: numbers and names of findings;
- terminal: the numbers and the names of findings, in their order.

Not compared: texts meant for people, where a text stands in a picture, descriptions in schemas, how long a run took.

`--expected` names differences that are meant. Each line has four cells, parted by tabs: the run (`plan-passes fixtures/clock/*`), the place
in it (`hand-die.json estimate.minutes`), old value, new value, and then the reason. `*` stands for anything. A line that
nothing meets is a difference too. Lines that begin with `#` are passed over.

Ends with one line, `N numbers, M names compared, 0 differ`, and 0; with a list of the differences by run, and 1, where there are any.
"""

import argparse
import csv
import difflib
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# A run that takes longer is told, and never passes as equal.
PATIENCE_S = 120
# So many differences of one run are printed in full.
SHOWN = 12

STEEL = ["--material", "tool-steel", "--thickness", "30"]
# What the layers of the drawings are for, where they are there.
LAYER_USES = {"BLANK": "blank", "START": "start-hole", "SCREWS": "existing"}
# The plate round an opening that is cut is there already.
PLATE_OF = "OPENING"

# Fields of JSON and columns of CSV that hold a text meant for people.
PROSE = {
    "about", "assumptions", "cautions", "description", "formula", "help", "message", "not_coreless", "reason", "reasons",
    "remedy", "removal_reason", "sentence", "source", "title", "words",
}  # fmt: skip
# Of two fields of one name one is a word of a list.
WORDS = {"units.source"}
# Neither a number of the plan nor a name.
LEFT_OUT_OF_TABLES = {"key"}

NUMBER = re.compile(r"(?:(?<![\w).])[-+\u2212\u00b1]?)?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
HYPHENED = re.compile(r"[a-z]+(?:-[a-z]+)+")
OPTION = re.compile(r"(?<![\w-])--?[a-z][a-z-]*")
TOOK = re.compile(r"^\d+ drawings in .* a second.*$", re.MULTILINE)


NUMBERS = {float, int}


class Prose:
    """A text meant for people: the numbers in it and the findings that it names."""

    def __init__(self, findings):
        self.findings = findings

    def of(self, text):
        numbers = [number(found) for found in NUMBER.findall(text)]
        return {"numbers": numbers, "findings": [word for word in HYPHENED.findall(text) if word in self.findings]}


def number(text):
    """The value of a number as it is printed; ± tells a width and is kept."""
    text = text.replace("\u2212", "-")
    return text if text.startswith("\u00b1") else float(text)


# What each format holds, as dictionaries, lists, numbers and names.


def of_json(text, prose):
    def clean(value, path):
        if isinstance(value, dict):
            return {name: clean(inner, f"{path}.{name}" if path else name) for name, inner in value.items()}
        name = path.rpartition(".")[2]
        people = name in PROSE and path not in WORDS
        if isinstance(value, list):
            if people:
                return [prose.of(inner) if isinstance(inner, str) else clean(inner, "") for inner in value]
            # Vertices are most of a file.
            if NUMBERS.issuperset(map(type, value)):
                return value
            return [clean(inner, path) if isinstance(inner, (dict, list)) else inner for inner in value]
        if isinstance(value, str) and people:
            return prose.of(value)
        return value

    return clean(json.loads(text), "")


def of_json_lines(text, prose):
    rows = [of_json(line, prose) for line in text.splitlines()]
    for row in rows:
        for name in LEFT_OUT_OF_TABLES:
            row.pop(name, None)
    return rows


def of_schema(text, prose):
    def clean(value, names):
        if isinstance(value, dict):
            # Below `properties` the keys are names of fields, one of which may be `description`.
            return {
                name: clean(inner, name in ("properties", "$defs") and not names)
                for name, inner in value.items()
                if names or name not in ("description", "title")
            }
        return [clean(inner, False) for inner in value] if isinstance(value, list) else value

    return clean(json.loads(text), False)


def of_csv(text, prose):
    def cell(name, value):
        if name in PROSE:
            return prose.of(value)
        return float(value) if NUMBER.fullmatch(value) else value

    rows = csv.DictReader(io.StringIO(text, newline=""))
    return [{name: cell(name, value) for name, value in row.items() if name not in LEFT_OUT_OF_TABLES} for row in rows]


def of_dxf(text, prose):
    lines = text.splitlines()
    entities = [[]]
    for code, value in zip(lines[::2], lines[1::2]):
        code, value = int(code), value.strip()
        if code == 0:
            entities.append([])
        if code == 999:
            value = prose.of(value)
        elif code not in TEXT_CODES:
            value = float(value)
        entities[-1].append([code, value])
    return entities + [len(lines) % 2]


# Group codes whose values are texts, names and handles (DXF reference, "group code value types").
TEXT_CODES = {*range(10), *range(100, 110), *range(300, 370), *range(390, 400), *range(410, 420), *range(430, 440), *range(999, 1010)}
GEOMETRY = {
    "cx", "cy", "d", "height", "points", "r", "rx", "ry", "transform", "viewBox", "width", "x", "x1", "x2", "y", "y1", "y2",
}  # fmt: skip
TEXTS = {"text", "tspan", "title", "desc", "style", "script"}


def geometry(value):
    """The letters of an outline and its numbers."""
    return {"letters": re.findall(r"[A-Za-z]+", value), "numbers": list(map(float, re.findall(r"-?\d+\.?\d*", value)))}


def of_element(tag, attributes):
    kept = {name: geometry(value) for name, value in attributes.items() if name in GEOMETRY}
    names = {name: value for name, value in attributes.items() if name in ("class", "id") or name.startswith("data-")}
    return {"element": tag, **kept, **names}


def of_svg(text, prose):
    elements, said = [], []
    for element in xml.etree.ElementTree.fromstring(text).iter():
        tag = element.tag.rpartition("}")[2]
        if tag not in TEXTS:
            elements.append(of_element(tag, element.attrib))
        elif tag not in ("style", "script"):
            said.append(element.text or "")
        said.append(element.tail or "")
    return {"elements": elements, "said": prose.of("\n".join(said))}


def of_html(text, prose):
    # The picture in it is that of the SVG.
    shown = re.sub(r"<(style|script|svg)\b.*?</\1>", " ", text, flags=re.DOTALL)
    return prose.of(re.sub(r"<[^>]*>", "\n", shown))


def of_text(text, prose):
    return prose.of(TOOK.sub("", text))


def of_help(text, prose):
    return {"options": sorted(set(OPTION.findall(text)))}


FORMATS = {
    "csv": of_csv, "dxf": of_dxf, "help": of_help, "html": of_html, "json": of_json, "jsonl": of_json_lines,
    "schema": of_schema, "svg": of_svg, "text": of_text,
    # The list of what a folder holds.
    "kerfwright-results": of_text,
}  # fmt: skip


def count(value):
    """How many numbers and names stand in it."""
    numbers = names = 0
    todo = [value]
    while todo:
        value = todo.pop()
        if isinstance(value, dict):
            names += len(value)
            todo.extend(value.values())
        elif isinstance(value, list):
            kinds = set(map(type, value))
            if kinds <= NUMBERS:
                numbers += len(value)
            elif kinds == {str}:
                names += len(value)
            else:
                todo.extend(value)
        elif isinstance(value, str):
            names += 1
        elif value is not None:
            numbers += 1
    return numbers, names


def differences(old, new, path=""):
    """Each place where the two differ, with what stands there."""
    if old == new and type(old) is type(new):
        return
    if isinstance(old, dict) and isinstance(new, dict):
        for name in [*old, *(name for name in new if name not in old)]:
            at = f"{path}.{name}" if path else str(name)
            if name not in new:
                yield at, old[name], "-"
            elif name not in old:
                yield at, "-", new[name]
            else:
                yield from differences(old[name], new[name], at)
    elif isinstance(old, list) and isinstance(new, list):
        if len(old) == len(new):
            for at, (one, other) in enumerate(zip(old, new)):
                yield from differences(one, other, f"{path}[{at}]")
        else:
            yield from edits(old, new, path)
    # 1 and 1.0 are one number.
    elif old != new:
        yield path, old, new


def edits(old, new, path):
    """What was put in and taken out between lists of unequal length."""
    ones, others = ([json.dumps(item, sort_keys=True) for item in items] for items in (old, new))
    for what, i, j, k, m in difflib.SequenceMatcher(None, ones, others, autojunk=False).get_opcodes():
        if what == "equal":
            continue
        pairs = min(j - i, m - k)
        for step in range(pairs):
            yield from differences(old[i + step], new[k + step], f"{path}[{i + step}]")
        for step in range(i + pairs, j):
            yield f"{path}[{step}]", old[step], "-"
        for step in range(k + pairs, m):
            yield f"{path}[+{step}]", "-", new[step]


# The runs.


def run(program, arguments, folder, stdin=None):
    """Exit code, and what was printed and written, by name."""
    folder.mkdir(parents=True)
    environment = {name: value for name, value in os.environ.items() if not name.startswith("KERFWRIGHT_")}
    environment |= {"NO_COLOR": "1", "COLUMNS": "100", "RAYON_NUM_THREADS": "1", "LC_ALL": "C.UTF-8"}
    try:
        done = subprocess.run([program, *arguments], cwd=folder, env=environment, input=stdin, capture_output=True, timeout=PATIENCE_S)
    except subprocess.TimeoutExpired:
        return None, {}
    made = {"printed": done.stdout, "told": done.stderr}
    for file in sorted(folder.rglob("*")):
        # The list of results is none.
        if file.is_file() and not file.name.startswith("."):
            made[file.name] = file.read_bytes()
    return done.returncode, made


class Run:
    """One call of the command: its name, its arguments, and the format of what it prints."""

    def __init__(self, name, arguments, printed="text", stdin=None):
        self.name, self.arguments, self.printed, self.stdin = name, arguments, printed, stdin

    def format(self, file):
        if file == "printed":
            return self.printed
        return "text" if file == "told" else file.rpartition(".")[2]


def runs_of_drawing(drawing, shown, seen):
    """The jobs that are run on one drawing, from what an inspection by the old program has told of it."""
    layers = {contour["layer"] for contour in seen.get("contours", [])}
    uses = {name: use for name, use in LAYER_USES.items() if name in layers}
    if PLATE_OF in layers and "PLATE" in layers:
        uses["PLATE"] = "existing"
    layered = [part for name, use in sorted(uses.items()) for part in ("--layer", f"{name}={use}")]
    cut = [contour for contour in seen.get("contours", []) if contour.get("closed") and contour.get("use") == "cut"]
    cut = [contour for contour in cut if contour["layer"] not in uses]
    entries, starts, demands = [], [], []
    for contour in cut[:3]:
        left, bottom, right, top = contour["bbox_mm"]
        middle = f"{contour['id']}:{(left + right) / 2!r},{(bottom + top) / 2!r}"
        entries += ["--entry", f"{contour['id']}:{left!r},{bottom!r}"]
        if contour["role"] == "opening":
            starts += ["--start", middle]
    if cut:
        demands += ["--demand", f"contour {cut[0]['id']}=passes 1", "--demand", f"layer {cut[-1]['layer']}=finish N7"]
        # Such a name cannot be told apart from the demand behind it.
        if "=" in cut[-1]["layer"]:
            demands = demands[:2]
    paths = str(drawing)
    passes = ["--wire", "0.25", "--passes", "4"]
    asked = ["--finish", "Ra 0.9", "--tolerance", "±0.01"]
    plan = ["plan", paths, "--out", "out"]
    jobs = {
        "inspect": ["inspect", paths, "--out", "out", *layered],
        "plan-passes": [*plan, *STEEL, *passes, *layered],
        "plan-asked": [*plan, *STEEL, *asked, *layered, *demands, "--quantity", "5", "--explain-numbers"],
        "plan-loose": [*plan, *STEEL, *passes, *layered, "--tabs", "none", "--stops", "each", "--lengths", "inch"],
        "plan-held": [
            *plan, "--material", "carbide", "--thickness", "12", "--wire", "0.2", "--passes", "3", *layered, "--margin", "6",
            "--clamp", "left", "--clamp-depth", "4", "--tabs", "2.5", "--slugs", "coreless", "--aim", "0.004",
        ],
        "plan-started": [
            *plan, *STEEL, "--wire", "0.25", "--passes", "2", *layered, *entries, *starts, "--lead", "arc", "--overlap", "0.7",
            "--sharp-corners", "1.42", "--start-holes-under", "2", "--slugs", "stop", "--stops", "grouped",
        ],
        "compare": ["compare", paths, "--out", "out", *STEEL, *asked, *layered],
    }  # fmt: skip
    return [Run(f"{name} {shown}", arguments) for name, arguments in jobs.items()]


def other_runs(drawings, schemas, commands):
    """What is run once."""
    shop = ROOT / "fixtures" / "shop"
    asked = [*STEEL, "--finish", "N7", "--in-order"]
    listed = "".join(f"{drawing}\n" for drawing, _ in drawings).encode()
    yield Run("quote CSV", ["quote", "-", *asked, "--out", "quote.csv"], "text", listed)
    yield Run("quote JSON", ["quote", "-", *asked, "--quantity", "3", "--tolerance", "IT7", "--json"], "jsonl", listed)
    yield Run("quote inch", ["quote", "-", *STEEL, "--wire", "0.25", "--passes", "3", "--in-order", "--lengths", "inch"], "csv", listed)
    yield Run("plan of a job file", ["plan", str(shop / "ratchet.toml"), "--out", "out"])
    yield Run("plan of a job file, JSON", ["plan", str(shop / "ratchet.toml"), "--json"], "json")
    yield Run("compare of a job file, CSV", ["compare", str(shop / "ratchet.toml"), "--csv"], "csv")
    yield Run("calibrate", ["calibrate", str(shop / "finished-jobs.csv"), "--out", "learned.text"])
    yield Run("calibrate JSON", ["calibrate", str(shop / "finished-jobs.csv"), "--json"], "json")
    yield Run("book show", ["book", "show"])
    yield Run("book show JSON", ["book", "show", "--json"], "json")
    yield Run("book init", ["book", "init"])
    yield Run("book check", ["book", "check"])
    yield Run("explain", ["explain"])
    yield Run("schemas", ["schema"])
    for name in schemas:
        yield Run(f"schema {name}", ["schema", name], "schema")
    yield Run("help", ["--help"], "help")
    for name in commands:
        yield Run(f"{name} --help", [name, "--help"], "help")
    ratchet = str(ROOT / "fixtures" / "clock" / "ratchet.dxf")
    for name, wrong in {
        "no material": ["--thickness", "30"],
        "unknown material": ["--thickness", "30", "--material", "butter"],
        "unknown wire": [*STEEL, "--wire", "0.77", "--passes", "2"],
        "too many passes": [*STEEL, "--wire", "0.25", "--passes", "40"],
        "finish out of reach": [*STEEL, "--finish", "Ra 0.01"],
        "taper": [*STEEL, "--finish", "N7", "--taper", "3"],
    }.items():
        yield Run(f"plan refused: {name}", ["plan", ratchet, *wrong])


class Comparison:
    def __init__(self, old, new, findings):
        self.programs, self.prose = (old, new), Prose(findings)

    def compare(self, call, room):
        """Numbers and names compared in one run, seconds of each program, and the differences as (place, old, new)."""
        folders = [room / side for side in ("old", "new")]
        results, seconds = [], []
        for program, folder in zip(self.programs, folders):
            shutil.rmtree(folder, ignore_errors=True)
            began = time.monotonic()
            results.append(run(program, call.arguments, folder, call.stdin))
            seconds.append(time.monotonic() - began)
        (code, made), (new_code, new_made) = results
        if code is None or new_code is None:
            slow = ["took too long" if code is None else code for code in (code, new_code)]
            return 0, 0, seconds, [("exit code", *slow)]
        found = list(differences(code, new_code, "exit code"))
        numbers, names = 1, len(made)
        for file in [*made, *(file for file in new_made if file not in made)]:
            if file not in new_made or file not in made:
                there = [("written" if file in side else "-") for side in (made, new_made)]
                found.append((file, *there))
                continue
            # Output of a run that failed is a text.
            kind = call.format(file)
            read = FORMATS[kind if made[file] else "text"]
            try:
                old = read(made[file].decode(), self.prose)
            except ValueError as error:
                found.append((file, f"cannot be read as {kind}: {error}", "?"))
                continue
            more = count(old)
            numbers, names = numbers + more[0], names + more[1]
            if made[file] != new_made[file]:
                try:
                    new = FORMATS[kind if new_made[file] else "text"](new_made[file].decode(), self.prose)
                except ValueError as error:
                    found.append((file, "read", f"cannot be read as {kind}: {error}"))
                    continue
                found.extend((f"{file} {path}", a, b) for path, a, b in differences(old, new))
        return numbers, names, seconds, found

    def drawing(self, drawing, shown, only):
        """All runs of a drawing."""
        with tempfile.TemporaryDirectory() as folder:
            room = Path(folder)
            code, made = run(self.programs[0], ["inspect", str(drawing), "--json"], room / "seen")
            seen = json.loads(made["printed"]) if code in (0, 1) else {}
            calls = [call for call in runs_of_drawing(drawing, shown, seen) if only in call.name]
            return [(call.name, *self.compare(call, room)) for call in calls]

    def once(self, call):
        with tempfile.TemporaryDirectory() as folder:
            return [(call.name, *self.compare(call, Path(folder)))]


class Expected:
    """Differences that are meant, with their reasons."""

    def __init__(self, file):
        self.lines = []
        for at, line in enumerate(Path(file).read_text(encoding="utf-8").splitlines() if file else [], 1):
            if not line.strip() or line.startswith("#"):
                continue
            cells = line.split("\t")
            if len(cells) != 5 or not cells[4].strip():
                sys.exit(f"{file}:{at}: not run, place, old, new and a reason, parted by tabs")
            self.lines.append((at, [self.pattern(cell) for cell in cells[:4]]))
        self.met = dict.fromkeys((at for at, _ in self.lines), 0)

    @staticmethod
    def pattern(cell):
        return re.compile(".*".join(re.escape(part) for part in cell.split("*")), re.DOTALL)

    def meet(self, name, difference):
        cells = [name, *(text if isinstance(text, str) else short(text, None) for text in difference)]
        # `findings[3]` answers to `findings[]` too.
        places = {cells[1], re.sub(r"\[\+?\d+\]", "[]", cells[1])}
        for at, patterns in self.lines:
            run_, place, old, new = patterns
            if run_.fullmatch(name) and any(map(place.fullmatch, places)) and old.fullmatch(cells[2]) and new.fullmatch(cells[3]):
                self.met[at] += 1
                return True
        return False


def short(value, most=100):
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if most is None or len(text) <= most else text[: most - 1] + "…"


def told(program, *arguments):
    done = subprocess.run([program, *arguments], capture_output=True, text=True, env={**os.environ, "NO_COLOR": "1"}, check=True)
    return done.stdout


def drawings(folder):
    """Every drawing with the name that it is shown by; the binary ones of hand-written tests are made when they run."""
    found = [(path, str(path.relative_to(ROOT))) for path in sorted((ROOT / "fixtures").rglob("*.dxf"))]
    if folder is None:
        given = os.environ.get("KERFWRIGHT_REAL_DRAWINGS") or ROOT.parent / "shared" / "drawings" / "real"
        folder = Path(given)
    if folder.is_dir():
        found += [(path.resolve(), f"real/{path.name}") for path in sorted(folder.rglob("*")) if path.suffix.lower() == ".dxf"]
    else:
        print(f"SKIPPED: real drawings: there is no folder {folder}")
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("old", type=Path, help="the program as it was")
    parser.add_argument("new", type=Path, help="the program as it is")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="runs at once [default: the number of cores]")
    parser.add_argument("--expected", type=Path, help="differences that are meant, see above")
    parser.add_argument("--only", default="", help="only runs with this in their name")
    parser.add_argument("--drawings", type=Path, help="the folder of real drawings")
    parser.add_argument("--times", action="store_true", help="print how long each kind of run took with either program")
    asked = parser.parse_args()
    old, new = (program.resolve(strict=True) for program in (asked.old, asked.new))
    expected = Expected(asked.expected)
    names = [set(re.findall(r"^(\S+) \((?:error|warning|note)\)$", told(program, "explain"), re.MULTILINE)) for program in (old, new)]
    if min(map(len, names)) < 40:
        sys.exit(f"`explain` lists {len(names[0])} and {len(names[1])} checks: its form is not what this script reads")
    comparison = Comparison(old, new, names[0] | names[1])
    schemas = sorted({line.split()[0] for program in (old, new) for line in told(program, "schema").splitlines()})
    commands = sorted(set(re.findall(r"^  ([a-z]+) ", told(old, "--help").partition("Commands:")[2], re.MULTILINE)) - {"help"})
    if len(schemas) < 8 or len(commands) < 8:
        sys.exit(f"only {schemas} and {commands} were found to be compared")
    all_drawings = drawings(asked.drawings)
    once = [call for call in other_runs(all_drawings, schemas, commands) if asked.only in call.name]
    began = time.monotonic()
    with ProcessPoolExecutor(asked.jobs) as pool:
        todo = [pool.submit(comparison.once, call) for call in once]
        todo += [pool.submit(comparison.drawing, path, shown, asked.only) for path, shown in all_drawings]
        done = [result for future in todo for result in future.result()]
    return report(done, expected, asked, len(all_drawings), time.monotonic() - began)


def report(done, expected, asked, of_drawings, took_s):
    numbers = names = differ = excepted = 0
    times = {}
    for name, more_numbers, more_names, seconds, found in done:
        numbers, names = numbers + more_numbers, names + more_names
        kind = times.setdefault(name.split()[0], [0.0, 0.0])
        for side in (0, 1):
            kind[side] += seconds[side]
        unmeant = [difference for difference in found if not expected.meet(name, difference)]
        excepted += len(found) - len(unmeant)
        differ += len(unmeant)
        if unmeant:
            print(f"{name}: {len(unmeant)} differ")
            for place, old, new in unmeant[:SHOWN]:
                print(f"  {place}: {short(old)} -> {short(new)}")
            if len(unmeant) > SHOWN:
                print(f"  … and {len(unmeant) - SHOWN} more")
    if asked.times:
        for kind, (old_s, new_s) in sorted(times.items()):
            print(f"{kind}: {old_s:.1f} s, {new_s:.1f} s")
    # A part of the runs cannot meet all that is expected of the whole.
    unmet = [at for at, met in expected.met.items() if not met] if not asked.only else []
    for at in unmet:
        print(f"{asked.expected}:{at}: nothing differs as this line expects")
    print(f"{len(done)} runs over {of_drawings} drawings in {took_s:.0f} s", end="")
    print(f"; {excepted} differences are meant, see {asked.expected}" if asked.expected else "")
    print(f"{numbers} numbers, {names} names compared, {differ} differ")
    return 1 if differ or unmet or not numbers else 0


if __name__ == "__main__":
    sys.exit(main())
