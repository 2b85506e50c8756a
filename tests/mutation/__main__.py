"""Put small faults into the code, one at a time, and see whether a test notices: `make mutants`.

Each fault is put into a copy of the repository, and the tests that belong to its module are run there. A fault that a
test notices is killed, any other has survived; those that change nothing (`equivalents.toml`) are left out. Which
faults are tried is chosen by their hash, so the same code is always tried with the same ones.

All of it takes hours. For some modules: `python tests/mutation steps.py pipeline/typed/cells.py`. For a sample over
all: `python tests/mutation --minutes 20`; what there was no time for is counted.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from queue import Queue

from mutants import Mutant, mutants_of

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
EQUIVALENTS = HERE / "equivalents.toml"
# Code -> tests that are run for all of it, after those of its own module; least share that must be noticed.
ROOMS: dict[str, tuple[tuple[str, ...], float]] = {
    "pipeline/engineering": (("tests/pipeline/engineering",), 0.90),
    "pipeline/statistics": (("tests/pipeline/statistics",), 0.90),
    "pipeline/derived": (("tests/oracle", "tests/pipeline/derived"), 0.85),
    "pipeline/typed": (("tests/pipeline/typed", "tests/pipeline/intake"), 0.85),
    "checks": (("tests/checks", "tests/oracle"), 0.85),
    "reports/page/drawing.py": (("tests/reports/page",), 0.85),
}
SECONDS = 240  # for the tests of one fault: one that makes them run for ever is noticed


Chosen = tuple[str, Mutant]  # a fault with its room


@dataclass(frozen=True)
class Outcome:
    mutant: Mutant
    room: str
    survived: bool
    shown: str


def main() -> int:
    options = _options()
    files = {room: _files(room) for room in ROOMS if not options.room or room in options.room}
    if unknown := _unknown(options.module, files):
        print(f"No module of the rooms that are tried is called {', '.join(unknown)}.", file=sys.stderr)
        return 2
    chosen: list[Chosen] = [
        (room, mutant)
        for room, of_room in files.items()
        for file in of_room
        if not options.module or any(_is_called(file, name) for name in options.module)
        for mutant in _chosen(file, options.per_module)
    ]
    if options.minutes:
        chosen.sort(key=lambda item: _digest(item[1]))  # a sample over all modules
    until = time.monotonic() + 60 * options.minutes if options.minutes else float("inf")
    with tempfile.TemporaryDirectory() as folder:
        copies: Queue[Path] = Queue()
        for number in range(options.workers):
            copies.put(_copy(Path(folder) / str(number)))
        with ThreadPoolExecutor(options.workers) as pool:
            tried = pool.map(lambda item: _tried(*item, copies) if time.monotonic() < until else None, chosen)
            outcomes = [outcome for outcome in tried if outcome is not None]
    return report(outcomes, len(chosen))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="mutation", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("module", nargs="*", help="name or path of a module; every one where none is named")
    parser.add_argument(
        "--minutes", type=float, help="begin no further fault after so long; the last ones are finished"
    )
    parser.add_argument("--per-module", type=int, default=6, help="faults tried in each module")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--room", action="append", choices=list(ROOMS))
    return parser.parse_args()


def _is_called(file: Path, name: str) -> bool:
    return name in (file.name, file.as_posix())


def _unknown(names: list[str], files: dict[str, list[Path]]) -> list[str]:
    known = [file for of_room in files.values() for file in of_room]
    return [name for name in names if not any(_is_called(file, name) for file in known)]


def _files(room: str) -> list[Path]:
    """Python and SQL of a room, without what only defines tables; views are code as well."""
    at = ROOT / room
    files = [at] if at.is_file() else sorted([*at.rglob("*.py"), *at.rglob("*.sql")])
    return [file.relative_to(ROOT) for file in files if file.name != "__init__.py" and not _only_defines_tables(file)]


def _only_defines_tables(file: Path) -> bool:
    return file.name == "schema.sql" and " VIEW " not in file.read_text(encoding="utf-8")


def _chosen(file: Path, most: int) -> list[Mutant]:
    source = (ROOT / file).read_text(encoding="utf-8")
    known = _equivalents()
    every = [mutant for mutant in mutants_of(file, source) if mutant.shown(source).split(": ", 1)[1] not in known]
    return sorted(every, key=_digest)[:most]


def _digest(mutant: Mutant) -> bytes:
    shown = mutant.shown((ROOT / mutant.file).read_text(encoding="utf-8"))
    return sha256(f"{mutant.file}{mutant.before}{mutant.text}{shown}".encode()).digest()


def _equivalents() -> set[str]:
    return {item["fault"] for item in tomllib.loads(EQUIVALENTS.read_text(encoding="utf-8")).get("equivalents", [])}


def _copy(folder: Path) -> Path:
    """The tracked files as they are now."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    for name in listed.splitlines():
        if (ROOT / name).exists():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, folder / name, follow_symlinks=False)
    return folder


def _tried(room: str, mutant: Mutant, copies: Queue[Path]) -> Outcome:
    copy = copies.get()
    try:
        source = (copy / mutant.file).read_text(encoding="utf-8")
        (copy / mutant.file).write_text(mutant.applied(source), encoding="utf-8")
        try:
            survived = all(_passes(copy, tests) for tests in _tests(room, mutant.file))
        finally:
            (copy / mutant.file).write_text(source, encoding="utf-8")
    finally:
        copies.put(copy)
    shown = mutant.shown(source)
    print("SURVIVED" if survived else "killed  ", shown, flush=True)
    return Outcome(mutant, room, survived, shown)


def _tests(room: str, file: Path) -> list[list[str]]:
    """The tests of the module itself, then those of its room."""
    own = sorted(path.relative_to(ROOT) for path in (ROOT / "tests").rglob(f"test_{file.stem}.py"))
    doctests = [str(file)] if file.suffix == ".py" else []
    rest = [name for name in ROOMS[room][0] if (ROOT / name).exists()]
    return [[*map(str, own), *doctests], rest] if own or doctests else [rest]


def _passes(copy: Path, tests: list[str]) -> bool:
    words = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *tests]
    environment = os.environ | {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(words, cwd=copy, env=environment, capture_output=True, timeout=SECONDS)
    except subprocess.TimeoutExpired:
        return False
    return done.returncode in (0, 5)  # 5: a module without doctests


def report(outcomes: list[Outcome], chosen: int) -> int:
    """Print killed and survived by module and room; 1 where a room is below its least share, or nothing was tried."""
    below = 0
    print(f"\n{'module':72} faults  killed  survived")
    for room, (_, least) in ROOMS.items():
        of_room = [outcome for outcome in outcomes if outcome.room == room]
        if not of_room:
            continue
        for file in sorted({outcome.mutant.file for outcome in of_room}):
            _print_row(str(file), [outcome for outcome in of_room if outcome.mutant.file == file])
        killed = _print_row(room, of_room, f"  {_killed(of_room) / len(of_room):.0%} killed (at least {least:.0%})\n")
        below += killed < least * len(of_room)
    if len(outcomes) < chosen:
        print(f"A sample: for {chosen - len(outcomes)} of {chosen} faults there was no time.")
    return int(below > 0 or not outcomes)


def _print_row(name: str, outcomes: list[Outcome], more: str = "") -> int:
    killed = _killed(outcomes)
    print(f"{name:72} {len(outcomes):6}  {killed:6}  {len(outcomes) - killed:8}{more}")
    return killed


def _killed(outcomes: list[Outcome]) -> int:
    return sum(not outcome.survived for outcome in outcomes)


if __name__ == "__main__":
    sys.exit(main())
