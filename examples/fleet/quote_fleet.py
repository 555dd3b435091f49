#!/usr/bin/env python3
"""Quotes many drawings on the workers of a Dask cluster, into one table with the rows of one run on one machine.

    dask scheduler                                            # on one machine
    dask worker tcp://HOST:8786 --nworkers 8 --nthreads 1     # on each of the others, as many as it has cores
    python quote_fleet.py tcp://HOST:8786 drawings.txt quotes.jsonl -- --thickness 20 --material tool-steel

`drawings.txt` lists the drawings, a path a line, as every worker sees them; what stands after `--` goes to `kerfwright quote` as it is. The
table is JSON lines, or CSV where its name ends in `.csv`. A batch whose worker goes away is quoted by another one; the same drawing gives the
same bytes wherever it is quoted, so nothing has to be known of the one that began it. The table appears when it is whole.

KERFWRIGHT names the command on the workers.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from distributed import Client

# The start of the command, some milliseconds, counts for nothing beside so many drawings.
BATCH = 100
# A batch takes seconds; what hangs is to be seen.
PATIENCE_S = 3600


def quote(drawings, options):
    """The rows of some drawings, in their order, on the machine that this runs on. Exit codes 0 and 1 are both an end."""
    command = [os.environ.get("KERFWRIGHT", "kerfwright"), "quote", "-", "--in-order", "--workers", "1", *options]
    ended = subprocess.run(command, input="\n".join(drawings).encode(), capture_output=True, timeout=PATIENCE_S)
    if ended.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(command)}: exit code {ended.returncode}\n{ended.stderr.decode()}")
    return ended.stdout


def rows(client, drawings, options, batch):
    """The rows of all batches, in the order of the drawings, as each comes."""
    batches = [drawings[i : i + batch] for i in range(0, len(drawings), batch)]
    # `pure`: asked for twice, a batch is quoted once.
    futures = client.map(quote, batches, options=options, pure=True)
    for number, future in enumerate(futures, 1):
        yield future.result()
        future.release()
        print(f"{number} of {len(batches)} batches", file=sys.stderr, flush=True)


def write_table(table, texts):
    """Writes the table beside its place first. Each batch of a CSV begins with the names of the columns."""
    is_csv = table.suffix == ".csv"
    with tempfile.NamedTemporaryFile(dir=table.parent, prefix=".fleet-", delete=False) as file:
        try:
            for number, text in enumerate(texts):
                file.write(text.split(b"\n", 1)[1] if is_csv and number > 0 else text)
            file.flush()
            os.replace(file.name, table)
        except BaseException:
            os.unlink(file.name)
            raise


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scheduler")
    parser.add_argument("list", type=Path)
    parser.add_argument("table", type=Path)
    parser.add_argument("--batch", type=int, default=BATCH)
    given = sys.argv[1:]
    ours = given.index("--") if "--" in given else len(given)
    asked, options = parser.parse_args(given[:ours]), given[ours + 1 :]
    # The command sorts what it is given: batches of a sorted list make a sorted table.
    drawings = sorted(line for line in asked.list.read_text().splitlines() if line)
    if asked.table.suffix != ".csv":
        options.append("--json")
    with Client(asked.scheduler) as client:
        write_table(asked.table, rows(client, drawings, options, asked.batch))


if __name__ == "__main__":
    main()
