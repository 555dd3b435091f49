#!/usr/bin/env python3
"""Every figure of a plan recomputed from the book, the job and the lengths of the wire's path.

Written from docs/guide.md and docs/separation.md, sharing nothing with the program: it reads the TOML files of the
book itself, and takes from the JSON of a plan what is measured or decided there (vertices of the paths, leads,
operations, outlines of the pieces that come free, what the passes meet in corners). All else is computed here and
held against the JSON, bands too. Python's standard library alone.

    recompute.py KERFWRIGHT [--few]

Ends with one line: plans, figures compared, largest relative deviation; with 1 and each difference if there is one.
"""

import csv
import io
import json
import math
import re
import subprocess
import sys
import tempfile
import tomllib
import urllib.request
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RELATIVE = 1e-9
# What is as small as this, or smaller, is held to rounding and not to itself.
NOTHING, ROUNDING = 1e-6, 1e-11
# Of the stock that skims meet, measured by the plan along its paths: what their rounding leaves, as length of path.
ENGAGEMENT_MM = 1e-6


# --- bands: (low, expected, high), docs/guide.md, "Where a number comes from" ---


def exact(value):
    return (value, value, value)


def join_logs(bands, expected):
    """Ends at the roots of the summed squares of the logarithms."""

    def reach(end):
        total = 0.0
        for band in bands:
            if band[end] == band[1]:
                continue
            if band[end] <= 0 or band[1] <= 0:
                return math.inf
            total += math.log(band[end] / band[1]) ** 2
        return math.sqrt(total)

    return (expected * math.exp(-reach(0)), expected, expected * math.exp(reach(2)))


def product(*factors):
    if any(band[1] == 0 for band in factors):
        return end_by_end(lambda *ends: math.prod(ends), *factors)
    return join_logs(factors, math.prod(band[1] for band in factors))


def inverse(band):
    return tuple(1 / end for end in reversed(band))


def power(band, exponent):
    return tuple(end**exponent for end in band)


def scaled(band, factor):
    return tuple(end * factor for end in band)


def total(*bands):
    return tuple(map(sum, zip(*bands, strict=True))) if bands else exact(0.0)


def end_by_end(function, *bands):
    return tuple(function(*ends) for ends in zip(*bands, strict=True))


def number(entry):
    if not isinstance(entry, dict):
        return exact(float(entry))
    value = float(entry["value"])
    if "percent" in entry:
        part = entry["percent"] / 100
        return (value * (1 - part), value, value * (1 + part))
    if "times" in entry:
        return (value / entry["times"], value, value * entry["times"])
    return (float(entry.get("low", value)), value, float(entry.get("high", value)))


# --- the book ---


def laid_over(under, over):
    """Entry by entry, number by number: a number is replaced whole."""
    merged = dict(under)
    for key, value in over.items():
        table = isinstance(value, dict) and "value" not in value
        if table and isinstance(under.get(key), dict) and "value" not in under[key]:
            merged[key] = laid_over(under[key], value)
        else:
            merged[key] = value
    return merged


@cache
def built_in():
    tables = {}
    for name in ("machines", "materials", "passes", "rates", "room", "rules", "wires"):
        with (ROOT / f"src/data/{name}.toml").open("rb") as file:
            tables = laid_over(tables, tomllib.load(file))
    return tables


class Book:
    def __init__(self, own=""):
        tables = laid_over(built_in(), {"material": {}, "machine": {}})
        self.own = tomllib.loads(own)
        for name, entry in self.own.get("material", {}).items():
            if "like" in entry:
                alike = tables["material"][entry["like"]]
                tables["material"][name] = dict(alike)
        for name in self.own.get("machine", {}):
            tables["machine"].setdefault(name, dict(tables["machine"]["typical"]))
        self.tables = laid_over(tables, self.own)

    def __call__(self, *keys):
        entry = self.tables
        for key in keys:
            entry = entry[key]
        return number(entry)

    def plain(self, *keys):
        return self(*keys)[1]

    def material(self, name):
        return self.tables["material"][name]

    def calibration(self, job):
        """That of the machine goes before that of all."""
        keys = ("material", "wire_mm", "wire_kind")
        fits = [entry for entry in self.tables.get("calibration", {}).values()
                if [entry[key] for key in keys] == [job.material, job.wire_mm, job.kind] and entry.get("machine", job.machine) == job.machine]
        return min(fits, key=lambda entry: "machine" not in entry, default=None)

    def recipe(self, material, wire_mm, kind, thickness_mm, passes):
        """The own recipe that fits and names most."""
        best = None
        for name, entry in self.own.get("recipe", {}).items():
            low, high = entry.get("thickness_mm", (0, math.inf))
            fits = (
                material in entry.get("materials", [material])
                and entry.get("wire_mm", wire_mm) == wire_mm
                and entry.get("wire_kind", kind) == kind
                and low <= thickness_mm <= high
                and len(entry["pass"]) == passes
            )
            named = sum(key in entry for key in ("materials", "wire_mm", "wire_kind", "thickness_mm"))
            if fits and (best is None or named > best[0]):
                best = (named, entry)
        return best and best[1]


# --- area rates, gaps, surfaces: one pass ---


class Passes:
    """What the book says of the passes of one demand group."""

    def __init__(self, book, job, passes, aim_mm):
        self.book, self.job, self.count, self.aim_mm = book, job, passes, aim_mm
        self.material = book.material(job.material)
        self.calibration = book.calibration(job)
        self.recipe = book.recipe(job.material, job.wire_mm, job.kind, job.thickness_mm, passes)
        self.rows = []
        for k in range(1, passes + 1):
            row = dict(book.tables["pass-table"][str(k)])
            if passes == 1:
                row["ra_um"] = book.tables["single-cut"]["ra_um"]
            if self.recipe:
                row.update(self.recipe["pass"][k - 1])
            self.rows.append(row)

    def own(self, k, key, *names):
        """Whether the recipe gives this number itself, and names one of these."""
        gives = bool(self.recipe) and key in self.recipe["pass"][k - 1]
        return gives and (not names or any(name in self.recipe for name in names))

    def thickness(self, height, own):
        """The bell about the best thickness; its greatest value in the band of that is the top, where the band holds the work."""
        book = self.book
        best, spread = book("rule", "thickness", "best_mm"), book.plain("rule", "thickness", "spread")
        thin = book.plain("rule", "thickness", "thin_below_mm")

        def bell(at, of):
            return math.exp(-0.5 * (math.log(max(at, thin) / of) / spread) ** 2) * min(1.0, at / thin)

        at = self.recipe.get("rates_at_mm") if own else None
        factors = [bell(height, of) / (bell(at, of) if at else 1.0) for of in best]
        if not at:
            factors.append(bell(height, min(max(height, best[0]), best[2])))
        return (min(factors), factors[1], max(factors))

    def doubt(self, height):
        """How far the numbers are continued beyond the thickness that they are made for."""
        book = self.book
        thin, made_to = book.plain("rule", "thickness", "thin_below_mm"), book.plain("rule", "thickness", "made_to_mm")
        exponent = book.plain("rule", "thickness", "doubt_exponent")
        if height < thin:
            return (1.0, 1.0, (thin / height) ** exponent)
        wider = max(1.0, height / made_to) ** exponent
        return (1 / wider, 1.0, wider)

    def wire_factor(self):
        book, wire = self.book, self.job.wire_mm
        rule = lambda key: book.plain("rule", "wire-diameter", key)
        if wire >= rule("plateau_from_mm"):
            return book("rule", "wire-diameter", "plateau_factor")
        if wire >= rule("linear_from_mm"):
            return exact(wire / rule("reference_mm"))
        thin = (wire / rule("linear_from_mm")) ** rule("thin_exponent")
        return scaled(book("rule", "wire-diameter", "thin_factor"), thin)

    def no_faster_than_thin(self, rate_at):
        """The low end of the feed is no higher than where work begins to be thin."""
        height, thin = self.job.thickness_mm, self.book.plain("rule", "thickness", "thin_below_mm")
        rate = rate_at(height)
        if height <= thin:
            return rate
        return (min(rate[0], rate_at(thin)[0] / thin * height), *rate[1:])

    def calibrated(self, rate):
        """A fit to finished jobs covers the doubt of all factors by its own band."""
        return scaled(number(self.calibration["rate_factor"]), rate[1]) if self.calibration else rate

    def rate(self, k):
        """The fastest feed of a skim is the machine's, and is not scaled."""
        if k == 1:
            return self.calibrated(self.rough())
        skim = self.calibrated(self.no_faster_than_thin(lambda height: self.skim_at(k, height)))
        return self.capped(skim, self.job.thickness_mm)

    def rough(self):
        return self.no_faster_than_thin(self.rough_at)

    def rough_at(self, height):
        book, job = self.book, self.job
        own = lambda *names: self.own(1, "rate_mm2_min", *names)
        factors = [number(self.recipe["pass"][0]["rate_mm2_min"] if own() else self.material["rate_mm2_min"])]
        if own() and not own("materials"):
            factors.append(exact(self.against_table()))
        if not own("wire_mm"):
            factors.append(self.wire_factor())
        if not own("wire_kind"):
            factors.append(book("wire-kind", job.kind, "rate_factor"))
        factors.append(self.thickness(height, own()))
        if not own("thickness_mm", "rates_at_mm"):
            factors.append(self.doubt(height))
        factors += [book("rule", "flushing", job.nozzles), book("machine", job.machine, "rate_factor")]
        if self.count == 1 and not own():
            several = self.calibrated(exact(math.prod(factor[1] for factor in factors)))[1]
            skim = self.calibrated(self.skim_at(2, height, book.tables["pass-table"]["2"]))
            one_skim = self.capped(skim, height)[1]
            single = book("single-cut", "rate_factor")
            both = one_skim / (one_skim + several)
            factors.append(scaled(single, max(1.0, both / single[1])))
        return product(*factors)

    def against_table(self):
        return number(self.material["rate_mm2_min"])[1] / self.book.plain("rule", "skim", "reference_rate_mm2_min")

    def capped(self, rate, height):
        return end_by_end(min, rate, scaled(self.book("rule", "skim", "fastest_feed_mm_min"), height))

    def skim_at(self, k, height, table=None):
        row = table or self.rows[k - 1]
        own = lambda *names: table is None and self.own(k, "rate_mm2_min", *names)
        factors = [number(row["rate_mm2_min"] if own() else row["skim_rate_mm2_min"])]
        if not own("materials"):
            if "skim_factor" in self.material:
                factors.append(number(self.material["skim_factor"]))
            else:
                factors.append(exact(self.against_table() ** self.book.plain("rule", "skim", "exponent")))
        factors.append(self.thickness(height, own()))
        if not own("thickness_mm", "rates_at_mm"):
            factors.append(self.doubt(height))
        return product(*factors)

    def gap_um(self, k):
        """The gap of the table, for this wire, material and thickness; what gauged offsets were off by moves it as a whole."""
        book, job = self.book, self.job
        own = lambda *names: self.own(k, "spark_gap_um", *names)
        corrected = self.calibration and "offset_correction_um" in self.calibration
        factors = [number(self.rows[k - 1]["spark_gap_um"])]
        if not own("wire_mm") and k <= book.plain("rule", "spark-gap", "scaled_passes"):
            reference = book.plain("rule", "wire-diameter", "reference_mm")
            factors.append(exact((job.wire_mm / reference) ** book.plain("rule", "spark-gap", "exponent")))
        if not own("materials"):
            factor = number(self.material.get("gap_factor", book.tables["rule"]["spark-gap"]["other_material"]))
            factors.append(exact(factor[1]) if corrected else factor)
        if not own("thickness_mm") and not corrected and job.thickness_mm > book.plain("rule", "thickness", "made_to_mm"):
            factors.append((1.0, *self.doubt(job.thickness_mm)[1:]))
        gap = product(*factors)
        return tuple(max(0.0, end + number(self.calibration["offset_correction_um"])[1]) for end in gap) if corrected else gap

    def offset_mm(self, k):
        parts = [self.gap_um(k)] + [number(row["taken_um"]) for row in self.rows[k:]]
        expected = self.job.wire_mm / 2 + sum(part[1] for part in parts) / 1000 - self.aim_mm
        down, up = (math.sqrt(sum((part[end] - part[1]) ** 2 for part in parts)) / 1000 for end in (0, 2))
        return (expected - down, expected, expected + up)

    def stock_um(self, k):
        return sum(number(row["taken_um"])[1] for row in self.rows[k:])

    def reach_mm(self, k):
        return self.job.wire_mm / 2 + self.gap_um(k)[1] / 1000

    def ra_um(self, k):
        ra = number(self.rows[k - 1]["ra_um"])
        return ra if self.own(k, "ra_um", "materials") else product(ra, number(self.material["ra_factor"]))

    def form_error_um(self, k):
        rule, height = lambda key: self.book("rule", "form-error", key), self.job.thickness_mm
        factor = exact(1 + max(0.0, height - rule("from_mm")[1]) / rule("per_mm")[1])
        if height < rule("thin_below_mm")[1]:
            factor = rule("thin_factor")
        form = number(self.rows[k - 1]["form_error_um"])
        return form if self.own(k, "form_error_um", "thickness_mm") else product(form, factor)


# --- geometry of what is in the JSON ---


def segments(vertices, closed=True):
    """Yields start, end, sweep (signed, 0 for a line), radius."""
    following = vertices[1:] + vertices[:1] if closed else vertices[1:]
    for (x, y, bulge), (nx, ny, _) in zip(vertices, following):
        chord = math.hypot(nx - x, ny - y)
        if bulge == 0.0:
            yield (x, y), (nx, ny), 0.0, chord
        else:
            sweep = 4 * math.atan(bulge)
            yield (x, y), (nx, ny), sweep, chord / (2 * math.sin(abs(sweep) / 2))


def length_of(vertices, closed=True):
    return sum(size if sweep == 0 else abs(sweep) * size for _, _, sweep, size in segments(vertices, closed))


def inside_sweeps(vertices):
    """Sweeps of the arcs that turn away from the kept material, which lies on the left; None with a sharp turn that way."""
    directions = []
    for (x, y), (nx, ny), sweep, _ in segments(vertices):
        along = math.atan2(ny - y, nx - x)
        directions.append((along - sweep / 2, along + sweep / 2))
    for (_, arriving), (leaving, _) in zip(directions, directions[1:] + directions[:1]):
        if (leaving - arriving + math.pi) % math.tau - math.pi < -1e-6:
            return None
    return [-sweep for *_, sweep, _ in segments(vertices) if sweep < 0]


def area_and_centroid(vertices):
    """Green's theorem, each arc's segment added with its own centroid."""
    area = mx = my = 0.0
    for (x, y), (nx, ny), sweep, radius in segments(vertices):
        cross = (x * ny - nx * y) / 2
        area += cross
        mx += cross * (x + nx) / 3
        my += cross * (y + ny) / 3
        if sweep:
            cap = 0.5 * radius**2 * (abs(sweep) - math.sin(abs(sweep))) * math.copysign(1, sweep)
            # Centroid of a circular segment lies 4 r sin³(φ/2) / (3 (φ − sin φ)) from the centre, away from the chord's far side.
            half = abs(sweep) / 2
            from_centre = 4 * radius * math.sin(half) ** 3 / (3 * (abs(sweep) - math.sin(abs(sweep)))) if cap else 0.0
            chord = math.hypot(nx - x, ny - y)
            # Outward is to the right of the chord of a counter-clockwise arc.
            ox, oy = (ny - y) / chord, -(nx - x) / chord
            if sweep < 0:
                ox, oy = -ox, -oy
            middle = ((x + nx) / 2, (y + ny) / 2)
            along = from_centre - radius * math.cos(half)
            area += cap
            mx += cap * (middle[0] + ox * along)
            my += cap * (middle[1] + oy * along)
    return area, (mx / area, my / area)


# --- a job and its plan ---


class Job:
    def __init__(self, drawing, material, thickness_mm, *, wire_mm=0.25, kind="brass", passes=None, nozzles="sealed", quantity=None,
                 machine="typical", offset="gauged", book="", more=()):
        self.drawing, self.material, self.thickness_mm = drawing, material, thickness_mm
        self.wire_mm, self.kind, self.passes, self.nozzles = wire_mm, kind, passes, nozzles
        self.quantity, self.machine, self.offset, self.book, self.more = quantity, machine, offset, book, list(more)

    def __str__(self):
        return " ".join(self.arguments()).replace(f"{ROOT}/fixtures/", "") + (f" (own book of {len(self.book)} bytes)" if self.book else "")

    def arguments(self):
        given = [str(ROOT / "fixtures" / self.drawing), "--material", self.material, "--thickness", repr(self.thickness_mm)]
        given += ["--wire", repr(self.wire_mm), "--wire-kind", self.kind, "--nozzles", self.nozzles, "--offset", self.offset]
        given += ["--machine", self.machine, *self.more]
        if self.passes:
            given += ["--passes", str(self.passes)]
        if self.quantity:
            given += ["--quantity", str(self.quantity)]
        return given


class Compared:
    """Counts figures, keeps the largest deviation and every difference."""

    def __init__(self):
        self.plans = self.figures = 0
        self.largest, self.largest_at = 0.0, ""
        self.differences = []
        self.kinds = defaultdict(int)

    def number(self, what, found, computed):
        self.figures += 1
        self.kinds[what] += 1
        if found is None or computed is None:
            if found is not computed:
                self.differ(what, found, computed)
            return
        apart, size = abs(found - computed), max(abs(found), abs(computed))
        relative = 0.0 if size < NOTHING and apart <= ROUNDING else apart / size
        if relative > self.largest:
            self.largest, self.largest_at = relative, f"{what} of {self.job}"
        if not relative <= RELATIVE:
            self.differ(what, found, computed)

    def differ(self, what, found, computed):
        self.differences.append((what, f"{self.job}: {found!r} in the plan, {computed!r} computed"))

    def band(self, what, found, computed):
        if found is None or computed is None:
            self.number(what, found, computed)
            return
        for end, value in zip(("low", "expected", "high"), computed, strict=True):
            self.number(f"{what}, {end}", found[end], value)

    def same(self, what, found, computed):
        self.figures += 1
        self.kinds[what] += 1
        if found != computed:
            self.differ(what, found, computed)


class Recomputed:
    """All figures of one plan."""

    def __init__(self, plan, job, compared):
        self.plan, self.job, self.seen = plan, job, compared
        self.book = Book(job.book)
        self.height = plan["thickness_mm"]
        counts = defaultdict(int)
        for found in plan["passes"]:
            counts[found["group"]] = max(counts[found["group"]], found["pass"])
        self.of = {asked["group"]: Passes(self.book, job, counts[asked["group"]], asked["aim_mm"]) for asked in plan["asked"]}
        self.group_of = {contour: asked["group"] for asked in plan["asked"] for contour in asked["contours"]}
        self.by_pass = defaultdict(list)
        for path in plan["paths"]:
            self.by_pass[path["group"], path["pass"]].append(path)

    def rate(self, group, k):
        return self.of[group].rate(k)

    def minutes(self, group, k, length_mm):
        return scaled(inverse(self.rate(group, k)), length_mm * self.height)

    def check(self):
        self.aims()
        self.passes()
        if self.plan["estimate"]["no_totals"] is None:
            Estimate(self).check()
            self.quality()
        self.pieces()

    def aims(self):
        """One-sided limits are cut to their middle: half of it on each wall, into the material where a larger opening is asked for."""
        for asked in self.plan["asked"]:
            if asked["lower_mm"] is None or "--aim" in self.job.more:
                continue
            middle = (asked["lower_mm"] + asked["upper_mm"]) / 2 / (2 if asked["limits_of"] == "on-size" else 1)
            kept = {c["kept_side"] for c in self.plan["contours"] if c["id"] in asked["contours"]}
            if asked["limits_of"] == "on-size" and len(kept) == 1:
                self.seen.number("aim", asked["aim_mm"], middle if kept == {"outside"} else -middle)

    def passes(self):
        seen = self.seen
        for path in self.plan["paths"]:
            seen.number("length of a path", path["length_mm"], length_of(path["vertices"]))
        for found in self.plan["passes"]:
            group, k = found["group"], found["pass"]
            of = self.of[group]
            length = sum(length_of(path["vertices"]) for path in self.by_pass[group, k])
            rate = of.rate(k)
            seen.number("offset of a pass", found["offset_mm"], of.offset_mm(k)[1])
            seen.band("offset of a pass", found["offset_band_mm"], of.offset_mm(k))
            seen.number("spark gap", found["spark_gap_mm"], of.gap_um(k)[1] / 1000)
            seen.number("stock", found["stock_mm"], of.stock_um(k) / 1000)
            seen.number("area rate", found["area_rate_mm2_min"], rate[1])
            seen.band("area rate", found["area_rate_band_mm2_min"], rate)
            seen.number("feed", found["feed_mm_min"], rate[1] / self.height)
            seen.band("feed", found["feed_band_mm_min"], scaled(rate, 1 / self.height))
            if found["path_length_mm"] is None:
                # A pass without all of its paths has no length and no minutes.
                seen.same("minutes of a pass without a path", found["minutes"], None)
                continue
            seen.number("length of a pass", found["path_length_mm"], length)
            seen.number("area of a pass", found["cut_area_mm2"], length * self.height)
            seen.number("minutes of a pass", found["minutes"], self.minutes(group, k, length)[1])
            seen.band("minutes of a pass", found["minutes_band"], self.minutes(group, k, length))
            seen.number("Ra of a pass", found["ra_um"], of.ra_um(k)[1])
            seen.band("Ra of a pass", found["ra_band_um"], of.ra_um(k))
            seen.band("form error of a pass", found["form_error_um"], of.form_error_um(k))

    def quality(self):
        for found in self.plan["quality"]:
            of = self.of[found["group"]]
            # A part without a tab is loose after its rough cut, and not skimmed.
            ra = of.ra_um(of.count if self.by_pass[found["group"], of.count] else 1)
            surface, seen = found["surface"], self.seen
            rule = lambda key: self.book("rule", "surface", key)
            seen.band("Ra", surface["ra_um"], ra)
            grade = next((n for n in range(1, 13) if 0.025 * 2 ** (n - 1) >= ra[1] * (1 - 1e-12)), None)
            grades = [0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50]
            grade = next((n for n, limit in enumerate(grades, 1) if ra[1] <= limit), None)
            seen.same("N grade", surface["n_grade"], grade)
            seen.band("VDI class", surface["vdi_class"], tuple(20 * math.log10(10 * end) for end in ra))
            seen.band("Rz", surface["rz_um"], product(ra, rule("rz_per_ra")))
            squared = product(power(ra, 2), rule("recast_per_ra_squared"))
            seen.band("recast layer", surface["recast_um"], total(rule("recast_base_um"), squared))
            asked = next(asked for asked in self.plan["asked"] if asked["group"] == found["group"])
            if found["accuracy"] and asked["limits_of"] == "on-size" and "--aim" not in self.job.more:
                half = (asked["upper_mm"] - asked["lower_mm"]) / 2 * 1000
                away = abs(found["accuracy"]["bias_on_size_um"]["expected"])
                unsure = found["accuracy"]["expanded_um"]["expected"]
                word = "expected-inside" if away + unsure <= half else "expected-outside" if away - unsure > half else "undecided"
                seen.same("verdict", found["verdict"], word)
            if found["accuracy"]:
                Accuracy(self, found["group"], found["accuracy"]).check()

    def pieces(self):
        for found in self.plan["separations"]:
            Piece(self, found).check()



def terms_of(plan, name):
    return next((figure["terms"] for figure in plan["figures"] if figure["name"] == name), None)


class Estimate:
    """Minutes, wire, cost: docs/guide.md, "Time", "Wire", "Ledger"."""

    def __init__(self, whole):
        self.whole, self.plan, self.job, self.book = whole, whole.plan, whole.job, whole.book
        self.found, self.seen = self.plan["estimate"], whole.seen
        self.machine = self.book.tables["machine"][self.job.machine]
        self.calibration = self.book.calibration(self.job)
        self.steps = defaultdict(list)
        for step in self.plan["sequence"]:
            self.steps[step["kind"]].append(step)

    def run(self, lengths):
        """Minutes for lengths by (group, pass)."""
        parts = [self.whole.minutes(group, k, length) for (group, k), length in sorted(lengths.items()) if length]
        return total(*parts)

    def lengths(self):
        """What the wire runs along, by group and pass: paths, leads cut, overlaps."""
        paths, leads, overlaps = defaultdict(float), defaultdict(float), defaultdict(float)
        for path in self.plan["paths"]:
            paths[path["group"], path["pass"]] += length_of(path["vertices"])
        for lead in self.plan["leads"]:
            leads[lead["group"], lead["pass"]] += self.lead_cut(lead)
        closed = {(step["contour"], step["pass"]) for step in self.steps["lead-out"]}
        for lead in self.plan["leads"]:
            if (lead["contour"], lead["pass"]) in closed:
                overlaps[lead["group"], lead["pass"]] += lead["overlap_mm"]
        return paths, leads, overlaps

    def lead_cut(self, lead):
        """What the rough pass cuts of its lead begins at the edge of the hole."""
        start = next(start for start in self.plan["starts"] if start["start"] == lead["start"])
        first, after = lead["lead_in"][:2]
        if lead["pass"] > 1 or not start["hole_mm"] or first[:2] != start["at_mm"]:
            return lead["lead_cut_mm"]
        hole_mm = start["hole_mm"] / 2
        if first[2] or math.dist(first[:2], after[:2]) < hole_mm:
            return lead["lead_cut_mm"]
        cut = length_of(lead["lead_in"], closed=False) - hole_mm
        self.seen.number("lead cut", lead["lead_cut_mm"], cut)
        return cut

    def engagement(self):
        """What skims meet more than is meant, as length of their paths: in closed form where it can be, else as the plan measured it."""
        lengths, terms = defaultdict(float), terms_of(self.plan, "engagement of skims") or []
        # The groups stand one after the other, each from its first pass on.
        groups, group = iter(self.whole.of), None
        for term in terms:
            words = re.fullmatch(r"length of pass ([0-9]+)", term["name"])
            if words:
                k = int(words[1])
                group = next(groups) if k == 1 else group
                lengths[group, k] += term["value"]["expected"]
        for (group, k), paths in self.whole.by_pass.items():
            extra = [self.extra(path, k) for path in paths] if k > 1 else [None]
            if None not in extra:
                # The plan measures along paths that are rounded to their last places.
                apart = abs(lengths[group, k] - sum(extra))
                self.seen.same("engagement of a skim in closed form", apart <= ENGAGEMENT_MM, True)
        return lengths

    def extra(self, path, k):
        """Over an inside arc of its wall, a skim at the distance of its reach meets reach × sweep more: R/(R − ρ) of its stock for each
        length of path. None where the wire of the pass before had not followed the same wall."""
        before = [other for other in self.plan["paths"] if (other["contour"], other["pass"]) == (path["contour"], k - 1)]
        if len(before) != 1 or sum(other["contour"] == path["contour"] and other["pass"] == k for other in self.plan["paths"]) != 1:
            return None
        mine, others = inside_sweeps(path["vertices"]), inside_sweeps(before[0]["vertices"])
        if mine is None or others is None or len(mine) != len(others) or self.overloaded(path, k):
            return None
        if any(abs(a - b) > 1e-9 for a, b in zip(sorted(mine), sorted(others))):
            return None
        return sum(mine) * self.whole.of[path["group"]].reach_mm(k)

    def overloaded(self, path, k):
        return any(found["contour"] == path["contour"] and found["pass"] == k for found in self.plan["overloads"])

    def corners(self):
        terms = terms_of(self.plan, "rough corners")
        return terms[0]["value"]["expected"] if terms else 0.0

    def check(self):
        book, seen = self.book, self.seen
        time = lambda key: book("time", key)
        paths, leads, overlaps = self.lengths()
        share = inverse(time("lead_feed_share"))
        count = lambda kind: len(self.steps[kind])
        by_hand = self.machine["threading"] == "hand"
        coreless = defaultdict(float)
        for step in self.steps["coreless"]:
            coreless[self.whole.group_of[step["contour"]], 1] += step["length_mm"]
        lead_in = total(*[product(self.whole.minutes(*key, length), share) for key, length in sorted(leads.items()) if length])
        running = {
            "cutting minutes": self.run(paths),
            "engagement of skims": self.run(self.engagement()),
            "lead-in": lead_in,
            "overlap at the closing point": self.run(overlaps),
            "coreless removal": self.run(coreless),
        }
        running["rough corners"] = scaled(time("corner_min"), self.corners())
        wire_running = total(*running.values())
        terms = dict(running)
        terms["wire breaks"] = end_by_end(lambda a, b: a / 60 * b, wire_running, time("wire_break_min_per_hour"))
        way = sum(step["length_mm"] for kind in ("travel", "return") for step in self.steps[kind])
        terms["threading"] = scaled(time("thread_by_hand_min" if by_hand else "thread_automatic_min"), count("thread"))
        terms["travel without cutting"] = scaled(inverse(time("travel_mm_min")), way)
        terms["tabs cut off"] = scaled(time("tab_cut_off_min"), count("cut-off"))
        terms["slugs and parts taken out"] = scaled(time("slug_handling_min"), count("remove"))
        terms["adjustment between passes"] = scaled(time("adjust_between_passes_min"), count("adjust"))
        # Two starts in one place share a hole.
        holes = len({tuple(start["at_mm"]) for start in self.plan["starts"] if start["drilled"]})
        material = book.material(self.job.material)
        drilling = scaled(inverse(number(material["drill_mm_min"])), holes * self.whole.height)
        attended = [terms["tabs cut off"], terms["slugs and parts taken out"], terms["adjustment between passes"]]
        if by_hand:
            attended.append(terms["threading"])
        standing_by = end_by_end(lambda a, b: a * b, wire_running, time("attended_share"))
        machine = total(*terms.values())
        setup = number((self.calibration or {}).get("fixed_min") or book.tables["time"]["setup_min"])
        self.terms(terms, drilling, set(id(band) for band in attended))
        attended = total(*attended, standing_by)
        self.sequence(machine)
        found = self.found
        rough = sum(length for (_, k), length in paths.items() if k == 1)
        seen.number("rough area", found["rough_area_mm2"], rough * self.whole.height)
        seen.number("area of all passes", found["pass_area_mm2"], sum(paths.values()) * self.whole.height)
        seen.band("cutting minutes", found["cut_minutes"], running["cutting minutes"])
        self.order(machine, attended, drilling, setup, holes, total(wire_running, terms["tabs cut off"]))

    def terms(self, terms, drilling, attended):
        found = {term["name"]: term for term in self.found["time_terms"]}
        elsewhere = {"start holes": drilling}
        for name, band in {**terms, **elsewhere}.items():
            if name in found:
                self.seen.band(name, found[name], band)
                who = "elsewhere" if name in elsewhere else "attended" if id(band) in attended else "unattended"
                self.seen.same("who is there", found[name]["presence"], who)
            else:
                self.seen.number(f"{name}, left out", 0.0, band[1])
        for name in found.keys() - terms.keys() - elsewhere.keys():
            self.seen.same("time term", name, None)

    def sequence(self, machine):
        """The steps follow one another and take what the terms take."""
        clock = 0.0
        for step in self.plan["sequence"]:
            self.seen.number("when a step begins", step["from_minutes"], clock)
            clock += step["minutes"] + step["slower_minutes"]
        missing = 0.0
        self.seen.number("machine minutes, the steps of the sequence", clock, machine[1] - missing)

    def order(self, machine, attended, drilling, setup, holes, wire_minutes):
        book, seen, found, pieces = self.book, self.seen, self.found, self.plan["pieces"]
        drawn, quantity = pieces["drawn"], pieces["quantity"]
        loads = -(-quantity // pieces["pieces_per_load"])
        times = quantity / drawn
        seen.same("loads", pieces["loads"], loads)
        one_setup = scaled(setup, loads) if loads and False else setup
        wire_m = product(wire_minutes, book("wire", "run_speed_m_min"))
        cross_mm2 = math.pi / 4 * self.job.wire_mm**2
        wire_kg = product(wire_m, scaled(book("wire-kind", self.job.kind, "density_g_cm3"), cross_mm2 / 1000))
        # A spool is as large as the shop buys it: its range is choice, not doubt.
        spools = scaled(wire_kg, times / book.plain("wire", "spool_kg"))
        changes = tuple(max(0.0, math.ceil(end) - 1.0) for end in spools)
        changing = end_by_end(lambda a, b: a * b, changes, book("time", "spool_change_min"))
        setups = scaled(setup, loads)
        shift = scaled(inverse(book("time", "shift_hours")), 1 / 60)
        all_machine = total(scaled(machine, times), setups, changing)
        shares = total(machine, drilling, setup)
        seen.band("set-up", found["setup_minutes"], setup)
        seen.band("machine minutes", found["machine_minutes"], machine)
        seen.band("piece minutes", found["piece_minutes"], scaled(machine, 1 / drawn))
        seen.band("order minutes", found["order_minutes"], all_machine)
        seen.band("attended", found["attended_minutes"], attended)
        seen.band("total minutes", found["total_minutes"], shares)
        seen.band("unattended hours", found["unattended_hours"], self.unattended(machine, attended))
        seen.band("shifts", found["shifts"], product(machine, shift))
        seen.band("wire, m", found["wire_m"], wire_m)
        seen.band("wire, kg", found["wire_kg"], wire_kg)
        seen.band("spools", found["spools"], spools)
        order = found["order"]
        seen.band("machine minutes of the order", order["machine_minutes"], all_machine)
        seen.band("machine hours of the order", order["machine_hours"], scaled(all_machine, 1 / 60))
        seen.band("attended minutes of the order", order["attended_minutes"], total(scaled(attended, times), setups, changing))
        seen.band("drilling minutes of the order", order["drilling_minutes"], scaled(drilling, times))
        seen.band("set-ups of the order", order["setup_minutes"], setups)
        seen.band("set-up, share of a piece", order["setup_share_minutes"], scaled(setups, 1 / quantity))
        seen.band("shifts of the order", order["shifts"], product(all_machine, shift))
        seen.band("wire of the order, m", order["wire_m"], scaled(wire_m, times))
        seen.band("wire of the order, kg", order["wire_kg"], scaled(wire_kg, times))
        seen.band("spools of the order", order["spools"], spools)
        seen.band("spool changes", order["spool_changes"], changes)
        self.days(setup, changing[1] / loads)
        self.cost(machine, attended, drilling, setups, changing, holes, wire_kg)
        self.string()

    def string(self):
        """The wire as a taut string, docs/guide.md, "Wire, and the wire as a string"."""
        book, height = self.book, self.whole.height
        figures = {figure["name"]: figure["value"] for figure in self.plan["figures"]}
        wire = lambda key: book("wire", key)
        kind = lambda key: book("wire-kind", self.job.kind, key)
        section = exact(math.pi / 4 * self.job.wire_mm**2)
        tension = product(kind("tensile_n_mm2"), section, wire("working_tension_share"))
        span = end_by_end(lambda beyond: height + 2 * beyond, wire("guide_standoff_mm"))
        load = wire("rough_load_n_per_m")
        reach = end_by_end(lambda length: 2 * length - height, span)
        self.seen.band("working tension", figures["working tension"], tension)
        self.seen.band("wire lag", figures["wire lag"], product(load, exact(height / 8), reach, inverse(tension)))
        self.seen.band("wire bow", figures["wire bow"], product(load, exact(height**2 / 8), inverse(tension)))
        kg_per_m = scaled(kind("density_g_cm3"), section[1] / 1000)
        speed = power(product(tension, inverse(kg_per_m)), 0.5)
        self.seen.band("first mode", figures["first mode"], product(speed, inverse(scaled(span, 2 / 1000))))

    @staticmethod
    def unattended(machine, attended):
        ends = end_by_end(lambda a, b: max(0.0, a - b) / 60, machine, attended)
        return (min(ends[:2]), ends[1], max(ends[1:]))

    def days(self, setup, changing):
        """One load after the other from the first shift of a week; what needs somebody waits for the next shift."""
        shift = self.book.plain("time", "shift_hours") * 60
        pieces = self.plan["pieces"]
        steps = [(step["minutes"] + step["slower_minutes"], step["attended"]) for step in self.plan["sequence"]]
        day, clock, going_on = 0, 0.0, False

        def take(minutes, attended):
            nonlocal day, clock, going_on
            if minutes <= 0:
                return
            if attended and not going_on and clock >= shift:
                day, clock = day + 1, 0.0
            days, clock = divmod(clock + minutes, 1440)
            day, going_on = day + int(days), attended

        left = pieces["quantity"]
        while left > 0:
            load = min(left, pieces["pieces_per_load"])
            left -= load
            going_on = False
            take(setup[1] + changing, True)
            times = load / pieces["drawn"]
            for share in [1.0] * int(times) + ([times % 1] if times % 1 else []):
                for minutes, attended in steps:
                    take(minutes * share, attended)
        days = day + (clock > 0)
        per_week = self.book.plain("time", "work_days_per_week")
        weeks = math.floor((days - 1) / per_week)
        self.seen.same("work days", self.found["order"]["work_days"], days)
        self.seen.same("calendar days", self.found["order"]["calendar_days"], days + round(weeks * max(0.0, 7 - per_week)))

    def hourly(self):
        book, tables = self.book, self.book.tables
        labour = product(book("money", "labour_per_hour"), end_by_end(lambda share: 1 + share, book("money", "labour_overhead_share")))
        if "machine-rate" not in tables:
            return labour, book("money", "machine_per_hour")
        rate = lambda key: book("machine-rate", key)
        def recovery(interest, years):
            growth = (1 + interest) ** years
            return interest * growth / (growth - 1) if interest else 1 / years

        capital = end_by_end(recovery, rate("interest_share"), tuple(reversed(rate("life_years"))))
        return labour, product(rate("first_cost"), capital, inverse(rate("hours_per_year")), end_by_end(lambda share: 1 + share, rate("overhead_share")))

    def features(self):
        """Contours of a piece that are cut."""
        cut = sum(len(asked["contours"]) for asked in self.plan["asked"])
        return cut / self.plan["pieces"]["drawn"]

    def cost(self, machine, attended, drilling, setups, changing, holes, wire_kg):
        book, seen, found, pieces = self.book, self.seen, self.found, self.plan["pieces"]
        money = lambda key: book("money", key)
        labour, machine_rate = self.hourly()
        hours = lambda minutes, rate: product(scaled(minutes, 1 / 60), rate)
        features = self.features()
        programming = total(money("programming_min"), scaled(money("programming_min_per_contour"), features))
        inspected = tuple(max(1.0, pieces["quantity"] * share) for share in money("inspected_share"))
        measuring = end_by_end(lambda a, b: a * b * features, inspected, money("inspection_min_per_feature"))
        inspection = total(money("inspection_min"), measuring)
        order = found["order"]
        seen.band("programming minutes", order["programming_minutes"], programming)
        seen.band("inspection minutes", order["inspection_minutes"], inspection)
        fixed = {"programming": hours(programming, labour), "set-ups": hours(setups, total(labour, machine_rate))}
        if changing[2]:
            fixed["changes of spools"] = hours(changing, total(labour, machine_rate))
        fixed["inspection"] = hours(inspection, labour)
        each = {
            "machine": hours(machine, machine_rate),
            "operator": hours(attended, labour),
            "wire": product(wire_kg, book("wire-kind", self.job.kind, "price_per_kg")),
            "filters and resin": hours(machine, money("filters_and_resin_per_hour")),
        }
        if holes:
            each["drilling of start holes"] = hours(drilling, money("drill_per_hour"))
            each["start hole charge"] = scaled(money("start_hole_each"), holes)
        material = book.material(self.job.material)
        blank_kg = None
        if self.plan["blank"]:
            area, _ = area_and_centroid(self.plan["blank"]["vertices"])
            blank_kg = scaled(number(material["density_g_cm3"]), abs(area) * self.whole.height * 1e-6)
            if "price_per_kg" in material:
                each["blank material"] = product(blank_kg, number(material["price_per_kg"]))
        seen.band("blanks, kg", order["blank_kg"], blank_kg and scaled(blank_kg, pieces["quantity"] / pieces["drawn"]))
        before_scrap = total(*each.values())
        allowance = end_by_end(lambda share: 1 / (1 - share) - 1, money("scrap_share"))
        each["scrap allowance"] = end_by_end(lambda a, b: a * b, before_scrap, allowance)
        for lines, what in ((fixed, "fixed"), (each, "each")):
            printed = {line["name"]: line for line in found["ledger"][what]}
            seen.same(f"lines of the ledger, {what}", sorted(printed), sorted(lines))
            for name in printed.keys() & lines.keys():
                seen.band(f"ledger, {name}", printed[name], lines[name])
        piece = scaled(total(*each.values()), 1 / pieces["drawn"])
        cost = total(total(*fixed.values()), scaled(piece, pieces["quantity"]))
        seen.band("cost, fixed", found["cost_fixed"], total(*fixed.values()))
        seen.band("cost, each", found["cost_each"], total(*each.values()))
        seen.band("cost of a piece", found["cost_piece"], piece)
        seen.band("cost of the order", found["cost_order"], cost)
        seen.band("cost", found["cost"], cost)
        margin, least = 1 + money("margin_share")[1], money("minimum_charge")[1]
        price = tuple(max(least, end * margin) for end in cost)
        if not self.calibration:
            price = (price[1], price[1], price[2])
        seen.band("price", found["price"], price)
        seen.band("indicative price", found["price_indicative"], price)


class Accuracy:
    """docs/guide.md, "Accuracy budget"."""

    def __init__(self, whole, group, found):
        self.whole, self.group, self.found, self.seen = whole, group, found, whole.seen
        self.of, self.book, self.plan = whole.of[group], whole.book, whole.plan

    def extent(self, contours):
        boxes = [contour["bbox_mm"] for contour in self.plan["contours"] if contour["id"] in contours]
        return [max(box[i + 2] for box in boxes) - min(box[i] for box in boxes) for i in (0, 1)], boxes

    def distances(self):
        everything = {contour for asked in self.plan["asked"] for contour in asked["contours"]}
        (across, up), _ = self.extent(everything)
        pickup = math.hypot(across, up)
        if "--pickup" in self.whole.job.more:
            pickup = float(self.whole.job.more[self.whole.job.more.index("--pickup") + 1])
        mine = next(asked["contours"] for asked in self.plan["asked"] if asked["group"] == self.group)
        _, boxes = self.extent(set(mine))
        size = max(max(box[2] - box[0], box[3] - box[1]) for box in boxes)
        return pickup, size

    def check(self):
        book, of, seen = self.book, self.of, self.seen
        room, machine = lambda key: book("room", key), book.tables["machine"][self.whole.job.machine]
        expansion = number(book.material(self.whole.job.material)["expansion_um_per_m_k"])
        pickup, size = self.distances()
        hours = self.plan["estimate"]["machine_minutes"]["expected"] / 60
        swing = room("room_swing_k")
        if "--room-swing" in self.whole.job.more:
            swing = exact(float(self.whole.job.more[self.whole.job.more.index("--room-swing") + 1]))
        share = math.sin(math.pi * hours / 24) if hours < 12 else 1.0
        offset = of.offset_mm(of.count)
        modelled = exact((offset[2] - offset[0]) / 2 * 1000)
        warmth = lambda length: product(expansion, exact(length / 1000), room("dielectric_band_k"))
        swinging = lambda length: product(expansion, exact(length / 1000 * share), swing, room("share_reaching_part"))
        walls = {
            "form error": (of.form_error_um(of.count), 2.0),
            "offset, gauged": (room("gauging_um"), 2.0),
            "offset, as modelled": (modelled, 2.0),
            "positioning": (number(machine["positioning_um"]), math.sqrt(2)),
            "repeatability": (number(machine["repeatability_um"]), math.sqrt(2)),
            "dielectric": (warmth(pickup), None),
            "day/night swing of room temperature": (swinging(pickup), None),
        }
        sizes = {"dielectric": warmth(size), "day/night swing of room temperature": swinging(size)}
        if machine["drive"] != "linear-scale":
            warm = lambda length: product(number(machine["scale_expansion_um_per_m_k"]), exact(length / 1000), number(machine["screw_warming_k"]))
            walls["warm screws"] = (warm(pickup), None)
            sizes["warm screws"] = warm(size)
        per_side = {name: scaled(band, 1 / math.sqrt(3)) for name, (band, _) in walls.items()}
        on_size = {}
        for name, (band, times) in walls.items():
            on_size[name] = scaled(band, times / math.sqrt(3)) if times else scaled(sizes[name], 1 / math.sqrt(3))
        basis = self.found["offset_basis"]
        seen.same("basis of the offset", basis, self.whole.job.offset)
        printed = [term["name"] for term in self.found["terms"]]
        left_out = "offset, as modelled" if basis == "gauged" else "offset, gauged"
        seen.same("terms of the budget", sorted(printed), sorted(walls.keys() - {left_out}))
        for term in self.found["terms"]:
            if term["name"] in walls:
                seen.band(f"half-width, {term['name']}", term["half_width_um"], walls[term["name"]][0])
                seen.band(f"on a wall, {term['name']}", term["per_side_um"], per_side[term["name"]])
                seen.band(f"on size, {term['name']}", term["on_size_um"], on_size[term["name"]])

        def expanded(parts, without):
            used = [band for name, band in parts.items() if name != without]
            return tuple(2 * math.sqrt(sum(band[end] ** 2 for band in used)) for end in range(3))

        seen.band("expanded, a wall", self.found["expanded_per_side_um"], expanded(per_side, left_out))
        seen.band("expanded, on size", self.found["expanded_um"], expanded(on_size, left_out))
        seen.band("expanded as modelled, a wall", self.found["expanded_per_side_modelled_um"], expanded(per_side, "offset, gauged"))
        seen.band("expanded as modelled, on size", self.found["expanded_modelled_um"], expanded(on_size, "offset, gauged"))
        self.shift("known shift, a wall", self.found["bias_per_side_um"], expansion, machine, pickup)
        self.shift("known shift, on size", self.found["bias_on_size_um"], expansion, machine, size)

    def shift(self, what, found, expansion, machine, length):
        away = self.book.plain("room", "dielectric_c") - 20
        scale = number(machine["scale_expansion_um_per_m_k"])
        ends = [scale[0] - expansion[2], scale[1] - expansion[1], scale[2] - expansion[0]]
        values = [end * length / 1000 * away for end in ends]
        self.seen.band(what, found, (min(values), values[1], max(values)))


class Piece:
    """docs/separation.md: mass and tab of what comes free, and whether a slug is cleared away."""

    GRAVITY = 9.80665

    def __init__(self, whole, found):
        self.whole, self.found, self.seen, self.plan, self.book = whole, found, whole.seen, whole.plan, whole.book
        self.contour = next(c for c in self.plan["contours"] if c["id"] == found["contour"])
        self.within = [c for c in self.plan["contours"] if c["parent"] == found["contour"] and c["side_from"]]
        group = whole.group_of[found["contour"]]
        self.rate = whole.rate(group, 1)
        self.path = [path for path in self.plan["paths"] if path["contour"] == found["contour"] and path["pass"] == 1]

    def area(self):
        """A part is what is drawn, less its openings; a slug its outline less the start holes in it. None where more lies in it."""
        if self.found["piece"] == "part":
            if any(c["use"] not in ("cut", "existing") for c in self.within):
                return None
            return self.contour["area_mm2"] - sum(c["area_mm2"] for c in self.within)
        in_it = [start for start in self.plan["starts"] if start["contour"] == self.contour["id"]]
        if self.within or len(in_it) != 1 or len(self.found["outlines"]) != 1 or not in_it[0]["hole_mm"]:
            return None
        others = [c for c in self.plan["contours"] if c["use"] == "start-hole"]
        if len(others) > 1 or in_it[0]["origin"] == "edge":
            return None
        area, _ = area_and_centroid(self.found["outlines"][0])
        # A proposed hole is not there when the slug is told apart from it.
        drawn = in_it[0]["hole_mm"] if in_it[0]["origin"] == "drawn" else 0.0
        return abs(area) - math.pi / 4 * drawn**2

    def check(self):
        found, seen, book = self.found, self.seen, self.book
        density = number(book.material(self.whole.job.material)["density_g_cm3"])[1]
        area = self.area() if found["exact"] else None
        if area is not None:
            seen.number("area of a piece", found["area_mm2"], area)
        mass = found["area_mm2"] * self.whole.height * density * 1e-6
        seen.number("mass of a piece", found["mass_kg"], mass)
        seen.same("heavy to lift", found["lift_with_help"], mass > book.plain("rule", "slug", "lift_kg"))
        if found["piece"] == "slug":
            seen.same("may jam", found["may_jam"], found["across_mm"] <= book.plain("rule", "slug", "jam_mm"))
        if found["tab"] and len(self.path) == 1 and "--tabs" not in self.whole.job.more:
            self.tab(found["tab"], mass)
        if found["piece"] == "slug" and "--slugs" not in self.whole.job.more and len(self.path) == 1:
            self.weigh()

    def tab(self, found, mass):
        rule = lambda key: self.book.plain("rule", "tab", key)
        lead = next(lead for lead in self.plan["leads"] if lead["contour"] == self.contour["id"] and lead["pass"] == 1)
        away = math.dist(self.found["centroid_mm"], lead["entry_mm"])
        strength, height = rule("strength_mpa") / rule("safety"), self.whole.height
        weight = mass * self.GRAVITY + rule("flush_n")
        asked = max(
            rule("least_mm"),
            6 * weight * away / (strength * height**2),
            math.sqrt(6 * rule("flush_n") * away / (strength * height)),
            3 * weight / (strength * height),
        )
        path = length_of(self.path[0]["vertices"])
        self.seen.number("tab, asked for", found["needed_mm"], asked)
        self.seen.number("tab", found["length_mm"], min(asked, rule("most_share") * path, rule("most_mm")))

    def weigh(self):
        """Clearing a slug away against a stop, in the expected values."""
        book, job, found = self.book, self.whole.job, self.found
        money = lambda key: book.plain("money", key)
        labour, machine_rate = Estimate(self.whole).hourly()
        machine = machine_rate[1] + money("filters_and_resin_per_hour")
        by_hand = book.tables["machine"][job.machine]["threading"] == "hand"
        hand = book.plain("time", "tab_cut_off_min") + book.plain("time", "slug_handling_min")
        thread = book.plain("time", "thread_by_hand_min" if by_hand else "thread_automatic_min")
        stop = hand * (machine + labour[1]) + thread * (machine + (labour[1] if by_hand else 0.0))
        g_per_m = math.pi / 4 * job.wire_mm**2 * book.plain("wire-kind", job.kind, "density_g_cm3")
        wire = book.plain("wire", "run_speed_m_min") * 60 * g_per_m / 1000 * book.plain("wire-kind", job.kind, "price_per_kg")
        clearing = machine + wire + book.plain("time", "attended_share") * labour[1]
        if found["removal"] == "coreless":
            minutes = found["coreless"]["length_mm"] * self.whole.height / self.rate[1]
            rings = sum(step["length_mm"] for step in self.plan["sequence"] if step["kind"] == "coreless" and step["contour"] == self.contour["id"])
            self.seen.number("length of the rings", found["coreless"]["length_mm"], rings)
            small = found["across_mm"] < book.plain("rule", "slug", "hold_from_mm")
            self.seen.same("cleared away for less", small or minutes * clearing <= stop * (1 + 1e-9), True)
        reason = re.fullmatch(r"stop, since coreless would take ([0-9.]+) min, ([0-9.]+) times the cost of a stop", found["removal_reason"] or "")
        if reason:
            times = float(reason[1]) * clearing / stop
            # Both are printed to three digits or a tenth.
            slack = times * 0.05 / float(reason[1]) + 0.05
            self.seen.same("cost of clearing over that of a stop, as printed", abs(times - float(reason[2])) <= slack, True)


SIX = ("machine_minutes", "piece_minutes", "order_minutes", "cost_piece", "cost_order", "price_indicative")
MATERIALS = list(Book().tables["material"])
KINDS = [(kind, wire_mm) for kind, entry in Book().tables["wire-kind"].items() for wire_mm in entry["sizes_mm"]]
HEIGHTS_MM = (0.5, 3.0, 5.0, 20.0, 60.0, 120.0, 300.0)

OWN_BOOK = """
[machine.by-hand]
title = "threaded by hand, with screws for scales"
threading = "hand"
drive = "rotary-encoder"
rate_factor = { value = 0.9, low = 0.8, high = 1.05 }
positioning_um = 4
[material.tool-steel]
price_per_kg = { value = 9, low = 6, high = 14 }
rate_mm2_min = { value = 180, percent = 20 }
[material.tungsten-carbide]
gap_factor = { value = 0.8, low = 0.7, high = 0.9 }
[wire]
run_speed_m_min = { value = 8, percent = 10 }
spool_kg = 4
[pass-table.3]
spark_gap_um = { value = 7, low = 6, high = 9 }
[time]
setup_min = { value = 22, low = 15, high = 40 }
adjust_between_passes_min = { value = 0.5, percent = 20 }
shift_hours = 10
work_days_per_week = 6
[money]
labour_per_hour = { value = 61, percent = 10 }
labour_overhead_share = { value = 0.25, low = 0.2, high = 0.4 }
inspected_share = 0.05
minimum_charge = 400
scrap_share = { value = 0.03, low = 0.01, high = 0.08 }
margin_share = 0.22
[machine-rate]
first_cost = { value = 160000, low = 140000, high = 200000 }
life_years = { value = 8, low = 6, high = 12 }
interest_share = { value = 0.06, low = 0.03, high = 0.08 }
hours_per_year = { value = 2500, percent = 20 }
overhead_share = { value = 0.25, percent = 40 }
[room]
dielectric_c = 22
room_swing_k = { value = 4, low = 1, high = 6 }
"""
RECIPE = """
[recipe.carbide-three]
materials = ["tungsten-carbide"]
wire_mm = 0.25
thickness_mm = [5, 40]
rates_at_mm = 20
pass = [
  { rate_mm2_min = 55, spark_gap_um = 30, ra_um = 2.2, form_error_um = 15 },
  { rate_mm2_min = 180, taken_um = 15, spark_gap_um = 10, ra_um = 1.0, form_error_um = 8 },
  { rate_mm2_min = 200, taken_um = 6, spark_gap_um = 5, ra_um = 0.5, form_error_um = 4 },
]
"""


def learned(program, folder):
    """What the project's own log says, as a book."""
    file = Path(folder) / "learned.toml"
    run(program, "calibrate", str(ROOT / "fixtures/shop/finished-jobs.csv"), "--out", str(file))
    return file.read_text()


def jobs(calibrated, few):
    """Yields the jobs: the demo and every drawing of our own, then materials, wires and heights against one another."""
    die = ["--layer", "PLATE=existing", "--layer", "SCREWS=existing", "--layer", "START=start-hole"]
    for book, machine in (("", "typical"), (OWN_BOOK, "by-hand")):
        yield Job("clock/hand-die.dxf", "tool-steel", 30.0, passes=4, book=book, machine=machine, more=die)
    for quantity in (1, 12, 200):
        yield Job("shapes/keyhole.dxf", "tool-steel", 20.0, passes=3, quantity=quantity, book=calibrated)
        yield Job("shapes/rectangle-40x20.dxf", "tool-steel", 60.0, passes=1, quantity=quantity, book=OWN_BOOK, more=["--margin", "5"])
    yield Job("shapes/circle-20.dxf", "tungsten-carbide", 15.0, passes=3, book=RECIPE)
    yield Job("shapes/circle-20.dxf", "tungsten-carbide", 180.0, passes=3, book=OWN_BOOK, more=["--contour", "1=opening"])
    yield Job("questions/windows-without-a-plate.dxf", "tool-steel", 12.0, passes=3, quantity=30, more=["--assume-sides"])
    yield Job("clock/ratchet.dxf", "tool-steel", 8.0, quantity=4, more=["--assume-sides", "--finish", "N6", "--demand", "layer PIVOT=finish Ra 0.4; tolerance 5H8"])
    for tolerance, more in (("20H7", ["--contour", "1=opening"]), ("20h6", []), ("+0.03/-0.01", ["--tabs", "none"]), ("20H5", ["--contour", "1=opening", "--slugs", "coreless"])):
        yield Job("shapes/circle-20.dxf", "tool-steel", 6.0, passes=2, more=["--tolerance", tolerance, *more])
    yield Job("clock/ratchet.dxf", "stainless-304", 8.0, passes=2, quantity=7, more=["--assume-sides", "--room-swing", "8", "--pickup", "120"])
    if few:
        return
    drawings = sorted(path for folder in ("clock", "shapes", "questions") for path in (ROOT / "fixtures" / folder).glob("*.dxf"))
    for n, path in enumerate(drawings):
        name = str(path.relative_to(ROOT / "fixtures"))
        for book, machine, offset in (("", "typical", "gauged"), (OWN_BOOK, "by-hand", "modelled"), (calibrated, "typical", "gauged")):
            yield Job(name, "tool-steel", (4.0, 12.0, 75.0)[n % 3], passes=1 + n % 5, machine=machine, offset=offset, book=book,
                      quantity=(None, 12, 200)[n // 3 % 3], more=["--assume-sides"])
    shapes = (("shapes/circle-20.dxf", []), ("shapes/rectangle-40x20.dxf", ["--contour", "1=opening"]), ("shapes/stadium.dxf", []),
              ("shapes/circle-20.dxf", ["--contour", "1=opening"]), ("shapes/star.dxf", ["--margin", "8"]))
    n = 0
    for material in MATERIALS:
        for kind, wire_mm in KINDS:
            for height_mm in HEIGHTS_MM:
                drawing, more = shapes[n % 5]
                machine, book = (("typical", ""), ("typical", calibrated), ("by-hand", OWN_BOOK))[n % 3]
                yield Job(drawing, material, height_mm, wire_mm=wire_mm, kind=kind, passes=1 + n % 8, machine=machine, book=book,
                          nozzles=("sealed", "one-open", "both-open")[n // 3 % 3], quantity=(1, 12, 200)[n // 2 % 3],
                          offset=("gauged", "modelled")[n // 5 % 2], more=more)
                n += 1


def run(program, *arguments):
    done = subprocess.run([program, *arguments], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1) or (arguments[-1] == "--json" and not done.stdout):
        raise SystemExit(f"kerfwright {' '.join(arguments)}: {done.returncode}: {done.stderr}")
    return json.loads(done.stdout) if arguments[-1] == "--json" else done.stdout


def planned(program, folder, n, job):
    """The plan of a job; None where the wire is too thin for the work, which has to be refused."""
    own = []
    if job.book:
        file = Path(folder) / f"book-{n}.toml"
        file.write_text(job.book)
        own = ["--book", str(file)]
    thickest = Book(job.book).plain("wire-size", f"{job.wire_mm:.2f}", "thickest_mm")
    arguments = ["plan", *job.arguments(), *own, "--json"]
    if job.thickness_mm <= thickest:
        return run(program, *arguments)
    done = subprocess.run([program, *arguments], capture_output=True, text=True, check=False)
    if done.returncode != 2 or "too thick" not in done.stderr:
        raise SystemExit(f"{job}: not refused: {done.stderr}")
    return None


def six(estimate):
    return {name: estimate[name] for name in SIX}


def outputs(program, folder, seen, few):
    """The same six figures of one job in a plan, a row of a table, a comparison and the answer of the page."""
    several = [Job("shapes/keyhole.dxf", "tool-steel", 20.0, passes=3, quantity=12), Job("shapes/circle-20.dxf", "tungsten-carbide", 60.0)]
    several += [Job("shapes/stadium.dxf", "aluminium-6061", 3.0, wire_mm=0.2, passes=2, quantity=200)]
    if few:
        several = several[:1]
    else:
        several += [Job("clock/ratchet.dxf", "tool-steel", 8.0, passes=4, more=["--assume-sides"])]
        several += [Job("questions/windows-without-a-plate.dxf", "stainless-304", 12.0, passes=2, quantity=30, more=["--assume-sides"])]
    for job in several:
        seen.job = job
        plan = planned(program, folder, 0, job)
        figures = six(plan["estimate"])
        row = run(program, "quote", *job.arguments(), "--json")
        table(seen, "row of JSON", figures, row, 0.0)
        printed = next(csv.DictReader(io.StringIO(run(program, "quote", *job.arguments()))))
        table(seen, "row of CSV", figures, printed, 0.005000001)
        page(program, seen, job, figures)
    for job in several:
        seen.job = job
        asked = job.arguments()
        for option in ("--wire", "--wire-kind", "--passes"):
            if option in asked:
                at = asked.index(option)
                del asked[at : at + 2]
        rows = [row for row in run(program, "compare", *asked, "--json")["candidates"] if row["figures"] == "computed"]
        for row in rows[:1] if few else rows:
            given = ["--wire", repr(row["wire_mm"]), "--wire-kind", row["wire_kind"], "--passes", str(row["passes"])]
            plan = run(program, "plan", *asked, *given, "--json")
            for name, band in six(plan["estimate"]).items():
                seen.band(f"row of a comparison, {name}", row[name], tuple(band.values()))


def table(seen, what, figures, row, slack):
    for name, band in figures.items():
        for end, column in (("low", f"{name}_low"), ("expected", name), ("high", f"{name}_high")):
            if column not in row:
                continue
            value = float(row[column])
            if slack:
                seen.same(f"{what}, {name}, as printed", abs(value - band[end]) <= slack, True)
            else:
                seen.number(f"{what}, {name}", value, band[end])


def page(program, seen, job, figures):
    """Asks the local page as its script does; the process is one of our own and ends with the question."""
    asked = {"material": job.material, "thickness_mm": job.thickness_mm, "wire_mm": job.wire_mm, "wire_kind": job.kind,
             "assume_sides": "--assume-sides" in job.more}
    asked.update({"passes": job.passes} if job.passes else {})
    asked.update({"quantity": job.quantity} if job.quantity else {})
    drawing = (ROOT / "fixtures" / job.drawing).read_bytes()
    with subprocess.Popen([program, "serve", "--port", "0"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as server:
        try:
            address = server.stdout.readline().strip()
            header = {"x-kerfwright-ask": json.dumps({"file": job.drawing, "job": asked})}
            request = urllib.request.Request(f"{address}rest", data=drawing, headers=header, method="POST")
            with urllib.request.urlopen(request, timeout=60) as answer:
                estimate = json.load(answer)["plan"]["estimate"]
        finally:
            server.kill()
    for name, band in figures.items():
        seen.band(f"answer of the page, {name}", estimate[name], tuple(band.values()))


def main():
    program, few = sys.argv[1], "--few" in sys.argv[2:]
    seen, refused = Compared(), 0
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(2) as pool:
        work = list(jobs(learned(program, folder), few))
        for job, plan in zip(work, pool.map(lambda of: planned(program, folder, *of), enumerate(work))):
            if plan is None:
                refused += 1
                continue
            seen.job = job
            Recomputed(plan, job, seen).check()
            seen.plans += 1
        outputs(program, folder, seen, few)
    by_kind = defaultdict(list)
    for what, line in seen.differences:
        by_kind[what].append(line)
    for what, lines in list(by_kind.items())[:20]:
        print(f"{what}: {len(lines)} of {seen.kinds[what]} differ, the first:\n  " + "\n  ".join(lines[:1]))
    print(f"{seen.plans} plans, {refused} rightly refused, {seen.figures} figures compared, {len(seen.differences)} different, "
          f"largest deviation {seen.largest:.1e} ({seen.largest_at})")
    sys.exit(bool(seen.differences))


if __name__ == "__main__":
    main()
