"""Checks src/data/layer-words.toml without the project's code.

    python3 tests/reference/layer_words.py

No word says two things, in any spelling that is compared as the same; every name of the drawings in fixtures/questions says
what its drawing is for; the words of frames and linetypes that were known before are covered; all that is needed is there.
"""

import re
import tomllib
import unicodedata
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAYS = {"part", "opening", "frame", "reference", "start-hole", "thread", "blank", "existing", "nothing"}
LANGUAGES = {"en", "de", "fr", "it", "es", "nl", "ja", "sv", "pl", "cs"}
BASES = {"published", "memory", "practice", "default", "shop"}


def bare(word):
    """Without case and accents. Voiced marks of Japanese are part of the letter."""
    word = word.lower().replace("ß", "ss").replace("ł", "l")
    letters = unicodedata.normalize("NFD", word)
    return unicodedata.normalize("NFC", "".join(c for c in letters if not "\u0300" <= c <= "\u036f"))


def spellings(word):
    """The word without accents, and with ae oe ue aa for its umlauts."""
    wide = word.lower().translate(str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa"}))
    return {bare(word), bare(wide)}


def read():
    data = tomllib.loads((ROOT / "src/data/layer-words.toml").read_text(encoding="utf-8"))
    table, titles = {}, set()
    for group in data["group"]:
        assert set(group) <= {"says", "language", "title", "basis", "source", "words"}, group
        assert group["says"] in SAYS and group["language"] in LANGUAGES and group["basis"] in BASES and group["source"], group
        assert group["words"], group
        for word in group["words"]:
            assert word == word.lower() and re.fullmatch(r"[^\W\d_]+( [^\W\d_]+)*", word), word
            for spelling in spellings(word):
                known = table.setdefault(spelling, group["says"])
                assert known == group["says"], f"{word}: {known} or {group['says']}"
            if group.get("title"):
                titles |= spellings(word)
    return data, table, titles


def says(name, table, only=None):
    """What a name says by its whole words, longest entries first; None for nothing, or for words that disagree."""
    words = re.findall(r"[^\W\d_]+", bare(name))
    found, i = set(), 0
    while i < len(words):
        for length in (3, 2, 1):
            entry = " ".join(words[i : i + length])
            if i + length <= len(words) and entry in table and (only is None or entry in only):
                found.add(table[entry])
                i += length
                break
        else:
            i += 1
    found.discard("nothing")
    return found.pop() if len(found) == 1 else None


def main():
    data, table, titles = read()
    assert LANGUAGES == {group["language"] for group in data["group"]}
    assert SAYS == {group["says"] for group in data["group"]}
    for side in SAYS - {"nothing"}:
        languages = {g["language"] for g in data["group"] if g["says"] == side}
        assert languages == LANGUAGES, (side, LANGUAGES - languages)

    for word in ("FRAME", "BORDER", "TITLE", "SHEET", "FORMAT", "RAHMEN", "SCHRIFTFELD", "CARTOUCHE"):
        assert says(word, table) == "frame", word
    begins = {begin for group in data["linetype"] for begin in group["begins"]}
    known = "CENTER CENTRE HIDDEN PHANTOM DASH DOT DIVIDE BORDER CHAIN ACAD_ISO ISO_ JIS_ MITTE VERDECKT STRICH PUNKT GETRENNT RAND"
    assert begins == set(known.split()), begins ^ set(known.split())

    names = {
        "Die_01": "opening", "die plate": None, "DIESEL": None, "PUNCHCARD": None, "punch and die": None,
        "center hole": None, "OEFFNUNG": "opening", "OFFNUNG": "opening", "HAAL": "opening", "AUSSENKONTUR": "part",
        "cutout1": "opening", "START-HOLE": "start-hole", "START_HOLES": "start-hole", "Trou de depart 3": "start-hole",
        "GEOMETRY-ENGRAVING": "reference", "GEOMETRY-CUTTING": None, "boundary": None, "Dimension": "reference",
        "0": None, "開口": "opening", "開口率": None,
    }  # fmt: skip
    for name, side in names.items():
        assert says(name, table) == side, (name, says(name, table))
    drawing_titles = {
        "DIE FOR HOUR HAND": "opening", "HOUR HAND": None, "Hebel für die Klinke": None, "Stempel Zeiger": "part",
        "PUNCH HOLDER": None, "PART NO 12": None, "Punch and die for hand": None,
    }  # fmt: skip
    for title, side in drawing_titles.items():
        assert says(title, table, titles) == side, (title, says(title, table, titles))

    lines = (ROOT / "fixtures/questions/expected.tsv").read_text(encoding="utf-8").splitlines()
    checked = 0
    for line in lines:
        drawing, _, question, _, first, sides, _ = (line.split("\t") + [""] * 7)[:7]
        for side in sides.split() if "@" in sides else []:
            layer, right = side.split("@")[0], side.split("=")[1]
            if question == "name-contradicts" and layer not in ("PLATE", "BLOCK", "0"):
                assert says(layer, table) == right != first, (drawing, layer, says(layer, table))
                checked += 1
            if drawing == "words-inside-words.dxf":
                assert says(layer, table) is None, layer
                checked += 1
    assert checked >= 25, checked
    words = sum(len(group["words"]) for group in data["group"])
    print(f"{words} words in {len(LANGUAGES)} languages, {len(table)} spellings; {checked} names of drawings say what they are for")


if __name__ == "__main__":
    main()
