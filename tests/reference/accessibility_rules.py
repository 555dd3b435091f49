"""Fetches axe-core, the accessibility rules that the page is held to in a browser: used by tests alone, pinned, never shipped.

    .venv/bin/python tests/reference/accessibility_rules.py

Writes `.venv/axe.min.js`; does nothing where that is there already.
"""

import base64
import hashlib
import io
import sys
import tarfile
import urllib.request
from pathlib import Path

VERSION = "4.14.1"
SHA512 = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
FILE = Path(__file__).resolve().parents[2] / ".venv" / "axe.min.js"


def main():
    if FILE.exists() and VERSION in FILE.read_text(encoding="utf-8")[:200]:
        return
    url = f"https://registry.npmjs.org/axe-core/-/axe-core-{VERSION}.tgz"
    with urllib.request.urlopen(url, timeout=60) as response:
        packed = response.read()
    if base64.b64encode(hashlib.sha512(packed).digest()).decode() != SHA512:
        sys.exit(f"{url} is not what was pinned")
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        FILE.write_bytes(archive.extractfile("package/axe.min.js").read())


main()
