"""What the tool is built from: licences that go with MIT or Apache-2.0, one registry, a lock file that fits.

Prints how many crates are built in and how many serve tests only. Run from the top of the repository.
"""

import json
import re
import subprocess
import sys

# Licences that let the binary be given on under MIT OR Apache-2.0 (SPDX identifiers, https://spdx.org/licenses).
ALLOWED = {
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
}
REGISTRY = "registry+https://github.com/rust-lang/crates.io-index"
TARGETS = ["x86_64-unknown-linux-gnu", "x86_64-pc-windows-gnu"]


def allowed(licence: str) -> bool:
    """Whether an SPDX expression leaves at least one choice that is allowed; the old `MIT/Apache-2.0` is an `OR`."""
    licence = licence.replace("/", " OR ")

    def one(words: str) -> bool:
        words = words.strip()
        while words.startswith("(") and words.endswith(")"):
            words = words[1:-1].strip()
        for joint, decide in ((" AND ", all), (" OR ", any)):
            parts = split(words, joint)
            if len(parts) > 1:
                return decide(one(part) for part in parts)
        return words in ALLOWED

    return one(licence)


def split(words: str, joint: str) -> list[str]:
    """Splits at a joint that stands in no parentheses."""
    parts, depth, begin = [], 0, 0
    for match in re.finditer(r"[()]|" + re.escape(joint), words):
        if match.group() == "(":
            depth += 1
        elif match.group() == ")":
            depth -= 1
        elif depth == 0:
            parts.append(words[begin : match.start()])
            begin = match.end()
    return parts + [words[begin:]]


def main() -> int:
    assert allowed("MIT OR Apache-2.0") and allowed("(MIT OR GPL-3.0) AND Unicode-3.0")
    assert not allowed("GPL-3.0-only") and not allowed("MIT AND GPL-3.0-only")
    metadata = json.loads(
        subprocess.run(
            ["cargo", "metadata", "--format-version", "1", "--locked", *(f"--filter-platform={target}" for target in TARGETS)],
            check=True,
            stdout=subprocess.PIPE,
        ).stdout
    )
    packages = {package["id"]: package for package in metadata["packages"]}
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    root = metadata["resolve"]["root"]

    def reached(kinds: set) -> set:
        found, todo = set(), [(root, True)]
        while todo:
            at, first = todo.pop()
            for dep in nodes[at]["deps"]:
                wanted = kinds if first else {None, "build"}
                # Its own tests take it in anew, with more features.
                own = dep["pkg"] == root
                if not own and dep["pkg"] not in found and any(kind["kind"] in wanted for kind in dep["dep_kinds"]):
                    found.add(dep["pkg"])
                    todo.append((dep["pkg"], False))
        return found

    built_in, with_tests = reached({None, "build"}), reached({None, "build", "dev"})
    flaws = []
    for package_id in sorted(with_tests):
        package = packages[package_id]
        name = f"{package['name']} {package['version']}"
        if package["source"] != REGISTRY:
            flaws.append(f"{name}: comes from {package['source']}")
        licence = package["license"] or "none stated in its manifest"
        if not allowed(licence):
            flaws.append(f"{name}: licence {licence}")
    for flaw in flaws:
        print(flaw)
    direct = [dep["name"] for dep in packages[root]["dependencies"] if dep["kind"] is None]
    print(
        f"{len(direct)} direct dependencies, {len(built_in)} crates built in, "
        f"{len(with_tests - built_in)} more for tests; all licences allowed: {not flaws}"
    )
    return 1 if flaws else 0


if __name__ == "__main__":
    sys.exit(main())
