"""Fills the folder for Windows with what is to be read, and packs it.

    python packaging/windows.py FOLDER VERSION TARGET

Run by `packaging/windows`, from the top of the repository. Stops where a page leads to one that is not there.
"""

import json
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import markdown
from markdown.extensions.toc import slugify_unicode

PAGES = ["manual", "guide", "checks", "gallery", "separation", "offsetting"]
LICENCE_FILES = re.compile(r"(?i)^(licen[cs]e|copying|copyright|notice|unlicense)")
PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{title} – kerfwright</title>
<style>body {{ max-width: 62em; margin: 2em auto; padding: 0 1em; font: 16px/1.5 sans-serif }}
table {{ border-collapse: collapse }} td, th {{ border: 1px solid #999; padding: 0.2em 0.6em; vertical-align: top }}
pre, code {{ font-family: monospace; background: #eee }} pre {{ padding: 0.6em; overflow: auto }} img {{ max-width: 100% }}</style>
</head><body>
{body}
</body></html>
"""


def main():
    folder, version, target = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
    readme = Path("README.md").read_text()
    cautions = re.search(r"(?ms)^## Cautions\n(.*?)(?=^## )", readme).group(1).strip()
    guide(folder / "guide", cautions)
    text = Path("packaging/windows-read-me.txt").read_text()
    for_windows(folder / "READ-ME.txt", text.replace("@VERSION@", version) + "\nCAUTIONS\n\n" + cautions + "\n")
    for name in ("LICENSE-MIT", "LICENSE-APACHE"):
        for_windows(folder / f"{name}.txt", (folder / name).read_text())
        (folder / name).unlink()
    for_windows(folder / "LICENSES-OF-LIBRARIES.txt", licences(target))
    packed(folder)


def for_windows(path, text):
    """Writes a text as every editor of Windows reads it."""
    path.write_bytes(text.replace("\n", "\r\n").encode("utf-8-sig"))


def guide(folder, cautions):
    """Sets the pages of the documentation in HTML."""
    (folder / "gallery").mkdir(parents=True)
    for picture in Path("docs/gallery").iterdir():
        (folder / "gallery" / picture.name).write_bytes(picture.read_bytes())
    texts = {page: Path(f"docs/{page}.md").read_text() for page in PAGES}
    texts["cautions"] = "# Cautions\n\n" + cautions
    for page, text in texts.items():
        # A list may follow its paragraph at once, as where these pages are read otherwise.
        text = re.sub(r"(?m)^((?![-*\d ]).+)\n(?=(- |1\. ))", r"\1\n\n", text)
        text = text.replace("../README.md#cautions", "cautions.md")
        toc = {"toc": {"slugify": slugify_unicode}}
        body = markdown.markdown(text, extensions=["tables", "fenced_code", "toc"], extension_configs=toc)
        body = re.sub(r'href="([\w-]+)\.md', r'href="\1.html', body)
        body = re.sub(r">([\w-]+)\.md</a>", r">\1.html</a>", body)
        # What is for those who work on the program, or run it on many machines, is not in the folder.
        body = re.sub(r'<a href="(?!https:|#)([\w./-]+?)(?:\.html)?(?:#[^"]*)?">(.*?)</a>', lambda m: m[0] if m[1] in texts else m[2], body)
        title = re.search(r"(?m)^# (.*)", text).group(1)
        (folder / f"{page}.html").write_text(PAGE.format(title=title, body=body))
    for page in texts:
        for link in re.findall(r'(?:href|src)="([^"]+)"', (folder / f"{page}.html").read_text()):
            at, _, anchor = link.partition("#")
            if not link.startswith("https:"):
                there = folder / (at or f"{page}.html")
                assert there.is_file(), f"{page}: {link} leads nowhere"
                assert not anchor or f'id="{anchor}"' in there.read_text(), f"{page}: {link} leads nowhere"


def licences(target):
    """Gives the licence of every library that is built in, in full."""
    command = ["cargo", "metadata", "--format-version", "1", "--locked", "--filter-platform", target]
    metadata = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    packages = {package["id"]: package for package in metadata["packages"]}
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    root = metadata["resolve"]["root"]
    found, todo = set(), [root]
    while todo:
        for dep in nodes[todo.pop()]["deps"]:
            if dep["pkg"] not in found and any(kind["kind"] is None for kind in dep["dep_kinds"]):
                found.add(dep["pkg"])
                todo.append(dep["pkg"])
    parts = [
        "The program is built from the libraries below, each under the licence that is named with it, the standard library of Rust\n"
        "(MIT OR Apache-2.0) and the runtime of mingw-w64 (mostly in the public domain, parts under BSD and MIT licences).\n"
    ]
    said = {}
    for package in sorted((packages[one] for one in found - {root}), key=lambda package: package["name"]):
        lines = [f"{package['name']} {package['version']}: {package['license']}", f"  {package['repository'] or ''}"]
        for file in sorted(Path(package["manifest_path"]).parent.iterdir()):
            if file.is_file() and LICENCE_FILES.match(file.name):
                text = file.read_text(errors="replace").replace("\r\n", "\n").strip()
                # The same text once, with a reference where it comes again.
                where = said.setdefault(text, f"{package['name']}, {file.name}")
                own = where == f"{package['name']}, {file.name}"
                lines.append(f"\n--- {file.name}\n\n{text}\n" if own else f"  {file.name}: as of {where}")
        parts.append("\n".join(lines) + "\n")
    print(f"{len(found - {root})} libraries, {len(said)} texts of licences")
    return ("\n" + "=" * 78 + "\n\n").join(parts)


def packed(folder):
    """Packs the folder with the date of the commit, so that the same files give the same bytes."""
    command = ["git", "log", "-1", "--format=%cd", "--date=format-local:%Y %m %d %H %M %S"]
    shown = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True, env={"TZ": "UTC", "PATH": "/usr/bin:/bin"})
    date = tuple(int(word) for word in shown.stdout.split())
    with zipfile.ZipFile(f"{folder}.zip", "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packing:
        for file in sorted(folder.rglob("*")):
            if file.is_file():
                entry = zipfile.ZipInfo(str(file.relative_to(folder.parent)), date)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.external_attr = 0o644 << 16
                packing.writestr(entry, file.read_bytes(), compresslevel=9)


if __name__ == "__main__":
    main()
