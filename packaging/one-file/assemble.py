"""Puts the page and its program into one file.

    assemble.py PROGRAM.wasm OUT.html

The program is packed and stands in the script, the script and the styles stand in the page, and the page says by their hashes that
nothing else may run and that nothing may be fetched (Content Security Policy Level 3, W3C). What it is built from heads the file.
"""

import base64
import gzip
import hashlib
import io
import os
import re
import subprocess
import sys
import tarfile
import tempfile
import urllib.request
from pathlib import Path

import program

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
PAGE = ROOT / "src" / "serve" / "page"

# The bundler: used here alone, nothing of it is shipped.
ESBUILD = "0.28.2"
ESBUILD_SHA512 = "4xTZr1FUmSoQW4XIWmit3tzQrUTZM+N3P0XV8xROKYF50XfI7xeO90+1bZvNwxIufQ9hDQVRJH5YhgPVF8A/HQ=="

# Largest file that is made, bytes: it has to go by mail.
LARGEST = 4 << 20

BROWSERS = ["chrome103", "firefox113", "safari16.4"]


def main(wasm, out):
    wasm, out = Path(wasm), Path(out)
    esbuild = fetch_esbuild(out.parent)
    with tempfile.TemporaryDirectory() as folder:
        script = bundle(esbuild, wasm.read_bytes(), Path(folder))
    styles = program.Program(wasm).get("/ink.css").decode() + (PAGE / "page.css").read_text(encoding="utf-8")
    html = assembled(script, styles)
    if len(html.encode()) > LARGEST:
        sys.exit(f"{out} would have {len(html.encode())} bytes, {LARGEST} at most may be made")
    write_whole(out, html)
    packed = len(gzip.compress(wasm.read_bytes(), 9, mtime=0))
    print(f"{out}: {len(html.encode())} bytes; the program {wasm.stat().st_size} bytes, packed {packed}; SHA-256 {sha256_hex(out)}")


def fetch_esbuild(folder):
    """Returns the path of the bundler, fetched and held against its hash where it is not there yet."""
    path = folder / f"esbuild-{ESBUILD}"
    if path.exists():
        return path
    url = f"https://registry.npmjs.org/@esbuild/linux-x64/-/linux-x64-{ESBUILD}.tgz"
    with urllib.request.urlopen(url, timeout=120) as response:
        packed = response.read()
    if base64.b64encode(hashlib.sha512(packed).digest()).decode() != ESBUILD_SHA512:
        sys.exit(f"{url} is not what was pinned")
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        binary = archive.extractfile("package/bin/esbuild").read()
    part = path.with_suffix(".part")
    part.write_bytes(binary)
    part.chmod(0o755)
    os.replace(part, path)
    return path


def bundle(esbuild, wasm, folder):
    """Returns one script: the page, the worker, and the program packed."""
    sources = folder / "packaging" / "one-file"
    sources.mkdir(parents=True)
    for script in HERE.glob("*.js"):
        (sources / script.name).write_bytes(script.read_bytes())
    (folder / "src").symlink_to(ROOT / "src")
    bundled = [esbuild, "--bundle", "--minify", "--charset=utf8", "--log-level=warning", "--preserve-symlinks"]
    bundled.append(f"--target={','.join(BROWSERS)}")
    worker = subprocess.run([*bundled, "--format=iife", sources / "worker.js"], check=True, capture_output=True, text=True).stdout
    (sources / "worker.txt").write_text(worker, encoding="utf-8")
    (sources / "program.wasm.gz").write_bytes(gzip.compress(wasm, 9, mtime=0))
    page = [*bundled, "--format=esm", "--loader:.gz=binary", "--loader:.txt=text", sources / "start.js"]
    return subprocess.run(page, check=True, capture_output=True, text=True).stdout


def assembled(script, styles):
    """Returns the page with its script and styles within."""
    # A line of the page that fetches something, and what stands in its place.
    icon = base64.b64encode((PAGE / "icon.svg").read_bytes()).decode()
    places = [
        ('<meta charset="utf-8">', f'<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="{policy(script, styles)}">'),
        ('href="/favicon.ico"', f'href="data:image/svg+xml;base64,{icon}"'),
        ('<link rel="stylesheet" href="/ink.css">\n', ""),
        ('<link rel="stylesheet" href="/page.css">', f"<style>{styles}</style>"),
        ('<script type="module" src="/main.js"></script>', f'<script type="module">{script}</script>'),
    ]
    html = (PAGE / "index.html").read_text(encoding="utf-8")
    for place, instead in places:
        if html.count(place) != 1:
            sys.exit(f"index.html has {html.count(place)} places of {place!r}, one is meant")
        html = html.replace(place, instead)
    return html.replace("<head>", f"<head>\n<!--\n{built_from()}-->", 1)


def policy(script, styles):
    """Returns what the page may do: run this script and its program, use these styles, and nothing else."""
    return "; ".join([
        "default-src 'none'",
        f"script-src '{source_hash(script)}' 'wasm-unsafe-eval'",
        f"style-src '{source_hash(styles)}'",
        "img-src data:",
        "worker-src blob:",
        "base-uri 'none'",
        "form-action 'none'",
    ])


def source_hash(text):
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def built_from():
    """Returns the crates that are inside, with version and licence, as they are locked."""
    command = ["cargo", "tree", "--package", "kerfwright-one-file", "--target", "wasm32-wasip1", "--edges", "normal", "--prefix", "none",
               "--locked", "--format", "{p}\t{l}"]
    tree = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    crates = sorted({re.sub(r" \(.*?\)", "", line) for line in tree.splitlines()})
    lines = "".join(f"  {crate.replace(chr(9), ', ')}\n" for crate in crates)
    return f"kerfwright in one file: the page and its program. Built from these Rust crates:\n{lines}"


def sha256_hex(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def write_whole(path, text):
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_text(text, encoding="utf-8", newline="\n")
    os.replace(part, path)


main(*sys.argv[1:])
