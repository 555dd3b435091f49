#!/usr/bin/env python3
"""Quotes drawings on two worker processes of a Dask cluster, one of which is killed half-way, and compares with one run.

    python3 tests/fleet.py KERFWRIGHT

Installs what `examples/fleet` needs into `target/fleet/venv`. Where the registry cannot be reached it says SKIPPED. Ends with a line as
`cargo test` does.
"""

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FLEET = ROOT / "examples" / "fleet"
WORK = ROOT / "target" / "fleet"
PYTHON = WORK / "venv" / "bin" / "python"
OPTIONS = ["--material", "tool-steel", "--thickness", "20"]
BATCH = 10
COPIES = 3


def main():
    kerfwright = Path(sys.argv[1]).resolve()
    WORK.mkdir(parents=True, exist_ok=True)
    if not installed():
        return
    drawings = some_drawings()
    listed = WORK / "drawings.txt"
    listed.write_text("".join(f"{drawing}\n" for drawing in drawings))
    environment = {**os.environ, "KERFWRIGHT": str(kerfwright), "PATH": f"{PYTHON.parent}:{os.environ['PATH']}"}
    failed = 0
    for name, form in (("quotes.jsonl", ["--json"]), ("quotes.csv", [])):
        begun = time.perf_counter()
        one = subprocess.run(
            [kerfwright, "quote", "-", "--in-order", "--workers", "1", *form, *OPTIONS],
            stdin=listed.open(), capture_output=True,
        )  # fmt: skip
        alone = time.perf_counter() - begun
        assert one.returncode in (0, 1), one.stderr.decode()
        begun = time.perf_counter()
        done, batches = fleet(listed, WORK / name, environment)
        took = time.perf_counter() - begun
        same = (WORK / name).read_bytes() == one.stdout
        failed += not same
        rows = one.stdout.count(b"\n") - (name.endswith(".csv"))
        print(
            f"{name}: {len(drawings)} drawings, {rows} rows, {len(one.stdout)} bytes, {'the same' if same else 'NOT THE SAME'}; "
            f"a worker killed after {done} of {batches} batches; {took:.1f} s, start of the cluster included, alone {alone:.1f} s"
        )
        assert rows == len(drawings), "a row a drawing"
    print(f"test result: {'FAILED' if failed else 'ok'}. {2 - failed} passed; {failed} failed")
    sys.exit(failed > 0)


def installed():
    """Whether the engine is there, put there now if need be."""
    pinned, noted = FLEET / "requirements.txt", WORK / "installed"
    if noted.exists() and noted.read_bytes() == pinned.read_bytes():
        return True
    shutil.rmtree(WORK / "venv", ignore_errors=True)
    subprocess.run([sys.executable, "-m", "venv", WORK / "venv"], check=True)
    pip = [PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--requirement", pinned]
    if subprocess.run(pip).returncode != 0:
        print("SKIPPED fleet: the engine cannot be had from the package registry")
        return False
    noted.write_bytes(pinned.read_bytes())
    return True


def some_drawings():
    """Drawings of the workshop and of all cases, some copies of each under other names, as a shop has them: sound ones and broken ones."""
    folder = WORK / "drawings"
    shutil.rmtree(folder, ignore_errors=True)
    made = []
    for drawing in sorted((ROOT / "fixtures").rglob("*.dxf")):
        for copy in range(COPIES if drawing.parent.name in ("clock", "shapes", "cases") else 1):
            to = folder / f"{drawing.parent.name}-{drawing.stem}-{copy}.dxf"
            to.parent.mkdir(exist_ok=True)
            shutil.copyfile(drawing, to)
            made.append(to)
    return sorted(made)


def fleet(listed, table, environment):
    """Makes the table on two workers, and kills one of them half-way: how many batches of how many were done then."""
    started = []

    def start(*command):
        log = (WORK / f"{table.name}-{len(started)}.log").open("w")
        started.append(subprocess.Popen(command, stdout=log, stderr=log, env=environment, cwd=WORK))
        return started[-1]

    address = WORK / "scheduler.json"
    address.unlink(missing_ok=True)
    table.unlink(missing_ok=True)
    try:
        dask = [PYTHON, "-m", "dask"]
        start(*dask, "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", address)
        workers = [
            start(*dask, "worker", "--scheduler-file", address, "--nthreads", "1", "--no-nanny", "--no-dashboard")
            for _ in range(2)
        ]
        at = where(address, len(workers), environment)
        command = [PYTHON, FLEET / "quote_fleet.py", at, listed, table, "--batch", str(BATCH), "--", *OPTIONS]
        run = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment)
        killed, batches = 0, 0
        for line in run.stderr:
            words = line.split()
            if words[1:2] != ["of"]:
                print(line, end="")
                continue
            done, batches = int(words[0]), int(words[2])
            if not killed and 2 * done >= batches:
                workers[0].send_signal(signal.SIGKILL)
                workers[0].wait()
                killed = done
        assert run.wait() == 0, f"exit code {run.returncode}"
        assert 0 < killed < batches, "killed while there was work"
        return killed, batches
    finally:
        for process in reversed(started):
            process.kill()
            process.wait()


def where(address, workers, environment):
    """The scheduler's address, when all workers are there."""
    wait = (
        "import sys; from distributed import Client\n"
        "with Client(scheduler_file=sys.argv[1], timeout=60) as client:\n"
        "    client.wait_for_workers(int(sys.argv[2]), timeout=60); print(client.scheduler.address)"
    )
    ready = subprocess.run(
        [PYTHON, "-c", wait, address, str(workers)], env=environment, capture_output=True, text=True, check=True
    )
    return ready.stdout.strip()


if __name__ == "__main__":
    main()
