"""Runs the program inside the one-file page without a browser: the same requests, by way of wasmtime."""

import json
import tempfile
from pathlib import Path

import wasmtime


class Program:
    def __init__(self, wasm):
        self.engine = wasmtime.Engine()
        self.module = wasmtime.Module.from_file(self.engine, str(wasm))

    def ask(self, method, path, headers=None, body=b""):
        """Returns status, headers and body of the answer to one request; where the program fails, 0 and why."""
        head = json.dumps({"method": method, "path": path, "headers": headers or {}})
        with tempfile.TemporaryDirectory() as folder:
            asked, told = Path(folder, "asked"), Path(folder, "told")
            asked.write_bytes(head.encode() + b"\n" + body)
            wasi = wasmtime.WasiConfig()
            wasi.stdin_file, wasi.stdout_file = asked, told
            wasi.inherit_stderr()
            store = wasmtime.Store(self.engine)
            store.set_wasi(wasi)
            linker = wasmtime.Linker(self.engine)
            linker.define_wasi()
            try:
                linker.instantiate(store, self.module).exports(store)["_start"](store)
            except (wasmtime.Trap, wasmtime.ExitTrap) as trap:
                return 0, {}, str(trap).encode()
            line, _, answer = told.read_bytes().partition(b"\n")
        head = json.loads(line)
        return head["status"], head["headers"], answer

    def get(self, path):
        """Returns what is at a path to be read."""
        status, _, body = self.ask("GET", path)
        assert status == 200, (path, status)
        return body
