"""The program for Windows under Wine, seen from outside: same bytes as on Linux, the page's door, its console, its keys.

    python3 tests/windows.py WINE PROGRAM.EXE PROGRAM [PART OF A NAME …]

Run by `tests/windows`. Ends with a line as `cargo test` does.
"""

import concurrent.futures
import http.client
import json
import os
import pty
import re
import select
import shutil
import signal
import subprocess
import sys
import time
import traceback
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WINE, EXE, NATIVE = sys.argv[1], *(str(Path(program).resolve()) for program in sys.argv[2:4])
WORK = ROOT / "target" / "wine" / "work"
PREFIX = Path(os.environ["WINEPREFIX"])
JOB = ["--thickness", "30", "--material", "tool-steel", "--finish", "Ra 0.9"]
DIE = ["--layer", "PLATE=existing", "--layer", "SCREWS=existing", "--layer", "START=start-hole"]
PATIENCE_S = 240
# A program that starts what it is given, as the desktop does.
DESKTOP = r"""
#include <windows.h>
int wmain(void) {
    WCHAR *rest = GetCommandLineW(), quote = *rest == L'"' ? L'"' : L' ';
    STARTUPINFOW start = { sizeof start };
    PROCESS_INFORMATION begun;
    DWORD code = 99;
    for (rest++; *rest != quote; rest++);
    if (!CreateProcessW(NULL, rest + 1 + (quote == L'"'), NULL, NULL, TRUE, 0, NULL, NULL, &start, &begun)) return code;
    SetConsoleCtrlHandler(NULL, TRUE);
    WaitForSingleObject(begun.hProcess, INFINITE);
    GetExitCodeProcess(begun.hProcess, &code);
    return code;
}
"""


def main():
    shutil.rmtree(WORK, ignore_errors=True)
    WORK.mkdir(parents=True)
    wanted = sys.argv[4:]
    tests = [(name, test) for name, test in globals().items() if name.startswith("test_")]
    passed = failed = 0
    for name, test in tests:
        if wanted and not any(word in name for word in wanted):
            continue
        begun = time.perf_counter()
        try:
            print(f"{name}: {test()}, {time.perf_counter() - begun:.0f} s", flush=True)
            passed += 1
        except Exception:
            traceback.print_exc()
            print(f"{name}: FAILED", flush=True)
            failed += 1
    print(f"test result: {'FAILED' if failed else 'ok'}. {passed} passed; {failed} failed")
    sys.exit(failed > 0 or passed == 0)


def test_same_bytes():
    """All files of all drawings, what is printed, and the exit code."""
    drawings = sorted(ROOT.glob("fixtures/**/*.dxf"))
    assert len(drawings) > 200, len(drawings)
    jobs = [(drawing, JOB) for drawing in drawings] + [(ROOT / "fixtures/clock/hand-die.dxf", [*JOB, *DIE])]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        results = list(pool.map(compared, range(len(jobs)), jobs))
    different = [line for lines, _ in results for line in lines]
    files = sum(count for _, count in results)
    assert not different, f"{len(different)} differ:\n" + "\n".join(different)
    assert files > 4 * 200, files
    return f"{len(jobs)} plans, {files} files and what was printed, 0 differ"


def compared(number, job):
    """What differs between the two programs for a job, and how many files were compared."""
    drawing, asked = job
    made = []
    for name, program in (("linux", [NATIVE]), ("windows", [WINE, EXE])):
        out = (WORK / f"{number}-{name}").relative_to(ROOT)
        arguments = ["plan", str(drawing.relative_to(ROOT)), *asked, "--out", str(out)]
        done = subprocess.run([*program, *arguments], cwd=ROOT, capture_output=True, timeout=PATIENCE_S)
        folder = ROOT / out
        files = {file.name: file.read_bytes() for file in folder.iterdir() if file.name[0] != "."} if folder.exists() else {}
        made.append({"exit code": done.returncode, "printed": done.stdout, "told": done.stderr, **files})
        shutil.rmtree(folder, ignore_errors=True)
    linux, windows = made
    names = [name for name in sorted(linux.keys() | windows.keys()) if linux.get(name) != windows.get(name)]
    told = f", {linux['told']} and {windows['told']}"
    return [f"{drawing.name}: {name}{told if name == 'told' else ''}" for name in names], len(linux) - 3


def test_the_pages_door():
    """Foreign names and sites, methods and paths are refused as on Linux; its downloads are those of Linux."""
    asked = {"file": "hand-die.dxf", "job": {"material": "tool-steel", "thickness_mm": 30, "passes": 4}}
    drawing = (ROOT / "fixtures/clock/hand-die.dxf").read_bytes()
    ask = {"x-kerfwright-ask": json.dumps(asked)}
    requests = [
        ("GET", "/", {}, None, 200),
        ("GET", "/main.js", {}, None, 200),
        ("GET", "/nowhere", {}, None, 404),
        ("GET", "/", {"Host": "evil.example"}, None, 421),
        ("GET", "/", {"Host": "localhost:1"}, None, 421),
        ("PUT", "/answer", {}, None, 405),
        ("POST", "/answer", {**ask, "Origin": "http://evil.example"}, drawing, 403),
        ("POST", "/answer", {**ask, "Sec-Fetch-Site": "cross-site"}, drawing, 403),
        ("POST", "/answer", {}, drawing, 400),
        ("POST", "/answer", ask, b"no drawing", 422),
        *(("POST", f"/{path}", ask, drawing, 200) for path in ("answer", "rest", "plan.json", "sheet.svg", "job-sheet.html", "paths.dxf", "row.csv", "compare.csv")),
    ]
    with Page([NATIVE]) as linux, Page([WINE, EXE]) as windows:
        for method, path, headers, body, status in requests:
            answers = [page.ask(method, path, headers, body) for page in (linux, windows)]
            assert answers[0][0] == answers[1][0] == status, (method, path, headers, [answer[:2] for answer in answers])
            texts = [re.sub(rb"127\.0\.0\.1:\d+", b"", answer[2]) for answer in answers]
            assert texts[0] == texts[1], f"{method} {path}: not what Linux answers"
    return f"{len(requests)} requests answered as on Linux"


def test_drawings_that_it_was_started_with():
    """They are handed out to who has the token, under their names, and to nobody else."""
    named = WORK / "Größe 2 ä.dxf"
    shutil.copy(ROOT / "fixtures/clock/ratchet.dxf", named)
    with Page([WINE, EXE], str(named.relative_to(ROOT))) as page:
        token = page.address.partition("?token=")[2]
        assert len(token) == 32, page.address
        for path in ("/", "/opened.json", "/opened/0", "/?token=0"):
            assert page.ask("GET", path)[0] == 401, path
        cookie = {"Cookie": cookie_of(page.address, token)}
        assert json.loads(page.ask("GET", "/opened.json", cookie)[2]) == [named.name]
        assert page.ask("GET", "/opened/0", cookie)[2] == named.read_bytes()
        assert page.ask("GET", "/opened/0", {**cookie, "Cookie": "kerfwright-token=" + token})[0] == 401
    return "refused without the token, handed out with it"


def test_a_browser_is_opened():
    browser = Browser()
    with Page([WINE, EXE], "--open", "fixtures/clock/ratchet.dxf") as page:
        address = browser.opened()
        assert address == page.address, (address, page.address)
    return "with the address that was printed"


def test_starts_from_the_desktop():
    """By a program of the name of the desktop, in a console of its own: the page opens, and what goes wrong stays to be read."""
    desktop = WORK / "explorer.exe"
    compiler = ["x86_64-w64-mingw32-gcc", "-municode", "-o", desktop, "-x", "c", "-"]
    subprocess.run(compiler, input=DESKTOP, text=True, check=True)
    browser = Browser()
    with Console(program=[str(desktop), EXE]) as console:
        address = browser.opened()
        until(lambda: "Ctrl-C in it" in console.text(), "it says how to end it")
        for words in ("kerfwright 0.", address, "Nothing leaves this machine"):
            assert words in console.text(), console.text()
        assert Page.asked(address, "GET", "/opened.json")[2] == b"[]"
        # A second one while the first is there.
        with Console(program=[str(desktop), EXE]) as second:
            other = browser.opened()
            assert other != address
            assert Page.asked(other, "GET", "/")[0] == Page.asked(address, "GET", "/")[0] == 200
            until(lambda: "usual port is taken" in second.text() and "Ctrl-C in it" in second.text(), "it tells")
            second.press(b"\x03")
            assert second.process.wait(PATIENCE_S) == 0
        console.press(b"\x03")
        assert console.process.wait(PATIENCE_S) == 0
    dropped = [WORK / "Größe 1 ä.dxf", WORK / "zwei & drei.dxf"]
    for file in dropped:
        shutil.copy(ROOT / "fixtures/clock/ratchet.dxf", file)
    names = ["Z:" + str(file).replace("/", "\\") for file in dropped]
    with Console(*names, program=[str(desktop), EXE]) as console:
        address, _, token = browser.opened().partition("?token=")
        assert Page.asked(address, "GET", "/opened.json")[0] == 401
        listed = json.loads(Page.asked(address, "GET", "/opened.json", {"Cookie": cookie_of(address, token)})[2])
        assert listed == [file.name for file in dropped], listed
    folder = "Z:" + str(WORK).replace("/", "\\")
    with Console(folder, program=[str(desktop), EXE]) as console:
        until(lambda: "Press Enter" in console.text(), "it waits for a key")
        assert "is a directory" in console.text(), console.text()
        time.sleep(1)
        assert console.process.is_running()
        console.press(b"\r")
        assert console.process.wait(PATIENCE_S) == 2
    # From a shell it does what it does on Linux, also with the path of a drawing alone.
    with Console() as console:
        assert console.process.wait(PATIENCE_S) == 2
        assert "Usage:" in console.text(), console.text()
    with Console(names[0]) as console:
        assert console.process.wait(PATIENCE_S) == 2
    return "double click, a second one, drawings dropped, an error; in a shell the help"


def test_the_console_shows_every_sign():
    """What is written to a console is text, not bytes in its code page; colours are on there."""
    with Console("inspect", "fixtures/checks/narrow-slot-fires.dxf") as console:
        console.process.wait(PATIENCE_S)
        shown = console.text()
    plain = subprocess.run([WINE, EXE, "inspect", "fixtures/checks/narrow-slot-fires.dxf"], cwd=ROOT, capture_output=True).stdout.decode()
    signs = {sign for sign in plain if ord(sign) > 127}
    assert signs, "a text with other signs than those of ASCII"
    assert signs <= set(shown), f"{signs - set(shown)} are lost in {shown!r}"
    assert re.search(r"\x1b\[[\d;]*[1-9][\d;]*m", shown) and "\x1b" not in plain, repr(shown)
    return f"{' '.join(sorted(signs))} shown"


def test_ctrl_c_closes_the_page():
    with Console("serve", "--port", "0") as console:
        until(lambda: "http://127.0.0.1:" in console.text(), "the page is open")
        console.press(b"\x03")
        code = console.process.wait(PATIENCE_S)
    assert code == 0, code
    return "exit code 0"


def test_ctrl_c_ends_a_quote():
    """As a signal does on Linux: the table keeps its rows, nothing else is left, and the next run goes on."""
    parts, results = WORK / "parts", WORK / "results"
    parts.mkdir()
    results.mkdir()
    drawing = (ROOT / "fixtures/shapes/plate-200-holes.dxf").read_text()
    for i in range(12):
        (parts / f"part-{i}.dxf").write_text(f"999\n{i}\n{drawing}")
    table = results / "quote.csv"
    arguments = ["quote", str(parts.relative_to(ROOT)), "--thickness", "20", "--material", "tool-steel", "--wire", "0.25", "--passes", "2"]
    arguments += ["--workers", "1", "--out", str(table.relative_to(ROOT))]
    with Console(*arguments) as console:
        until(lambda: table.exists() and table.read_bytes().count(b"\n") > 3, "rows come")
        console.press(b"\x03")
        code = console.process.wait(PATIENCE_S)
    rows = table.read_bytes().count(b"\n") - 1
    assert code == 130, code
    assert 3 <= rows < 12, rows
    assert [file.name for file in results.iterdir()] == ["quote.csv"], list(results.iterdir())
    again = subprocess.run([WINE, EXE, *arguments], cwd=ROOT, capture_output=True, text=True)
    assert f"{rows} rows stood in the table already" in again.stderr, again.stderr
    assert table.read_bytes().count(b"\n") == 13
    return f"exit code 130 after {rows} rows, then {12 - rows} more"


def cookie_of(address, token):
    status, headers, _ = Page.asked(address, "GET", f"/?token={token}")
    assert status == 303 and headers["location"] == "/", (status, headers)
    return headers["set-cookie"].partition(";")[0]


class Browser:
    """Where Windows opens an address; here Wine's way to the browsers of Linux."""

    def __init__(self):
        self.addresses = WORK / "opened.txt"
        self.addresses.unlink(missing_ok=True)
        browser = WORK / "browser"
        browser.write_text(f'#!/bin/sh\nprintf "%s\\n" "$1" >>"{self.addresses}"\n')
        browser.chmod(0o755)
        key = r"HKEY_CURRENT_USER\Software\Wine\WineBrowser"
        subprocess.run([WINE, "reg", "add", key, "/v", "Browsers", "/d", str(browser), "/f"], check=True, capture_output=True)

    def opened(self):
        """Waits for an address, and forgets it."""
        until(lambda: self.addresses.exists() and self.addresses.read_text().endswith("\n"), "a browser is started")
        address = self.addresses.read_text().strip()
        self.addresses.unlink()
        return address


class Page:
    """The page of a program on a free port, asked from this side."""

    def __init__(self, program, *options):
        command = [*program, "serve", "--port", "0", *options]
        self.process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.address = self.process.stdout.readline().decode().strip()

    def ask(self, method, path, headers=None, body=None):
        return self.asked(self.address, method, path, headers, body)

    @staticmethod
    def asked(address, method, path, headers=None, body=None):
        host = re.match(r"http://([\d.]+:\d+)/", address).group(1)
        connection = http.client.HTTPConnection(host, timeout=PATIENCE_S)
        connection.request(method, path, body, headers or {})
        answer = connection.getresponse()
        return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.kill()
        self.process.wait()


class Console:
    """The program for Windows in a console of Wine, which is this terminal."""

    def __init__(self, *arguments, program=(EXE,)):
        pid, self.terminal = pty.fork()
        if pid == 0:
            os.chdir(ROOT)
            os.environ.update(TERM="xterm-256color", COLUMNS="200", LINES="200")
            os.execv(WINE, [WINE, *program, *arguments])
        self.process = Child(pid, self)
        self.shown = b""

    def text(self):
        while select.select([self.terminal], [], [], 0.05)[0]:
            try:
                more = os.read(self.terminal, 1 << 16)
            except OSError:
                break
            if not more:
                break
            self.shown += more
        return self.shown.decode(errors="replace")

    def press(self, keys):
        os.write(self.terminal, keys)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.code is None:
            os.kill(self.process.pid, signal.SIGKILL)
            self.process.wait(PATIENCE_S)
        os.close(self.terminal)


class Child:
    """A process in a terminal, whose text has to be read while it is waited for."""

    def __init__(self, pid, console):
        self.pid, self.console, self.code = pid, console, None

    def is_running(self):
        return os.waitpid(self.pid, os.WNOHANG)[0] == 0

    def wait(self, seconds):
        end = time.monotonic() + seconds
        while self.code is None:
            self.console.text()
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.code = os.waitstatus_to_exitcode(status)
            assert time.monotonic() < end, f"it does not end: {self.console.text()[-500:]!r}"
        return self.code


def until(holds, what):
    end = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < end, f"it never comes that {what}"
        time.sleep(0.02)


if __name__ == "__main__":
    main()
