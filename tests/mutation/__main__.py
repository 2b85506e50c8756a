"""Put small faults into the code, one at a time, and see whether a test notices: `make mutants`.

Each fault is put into a copy of the repository, and the tests that belong to its module are run there. A fault that no
test notices has survived; a list of those that change nothing (`equivalents.toml`) counts apart. Which faults are tried
is chosen by their hash, so the same code is always tried with the same ones.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
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


@dataclass(frozen=True)
class Outcome:
    mutant: Mutant
    room: str
    survived: bool
    shown: str


def main() -> int:
    options = _options()
    chosen = [
        (room, mutant)
        for room in ROOMS
        if not options.room or room in options.room
        for file in _files(room)
        if not options.file or file.name in options.file
        for mutant in _chosen(file, options.per_module)
    ]
    with tempfile.TemporaryDirectory() as folder:
        copies: Queue[Path] = Queue()
        for number in range(options.workers):
            copies.put(_copy(Path(folder) / str(number)))
        with ThreadPoolExecutor(options.workers) as pool:
            outcomes = list(pool.map(lambda item: _tried(*item, copies), chosen))
    return _report(outcomes)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="mutation", description=__doc__)
    parser.add_argument("--per-module", type=int, default=6, help="faults tried in each module")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--room", action="append", choices=list(ROOMS))
    parser.add_argument("--file", action="append", help="name of a module, such as steps.py")
    return parser.parse_args()


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
    return sorted(every, key=lambda m: sha256(f"{m.file}{m.before}{m.text}{m.shown(source)}".encode()).digest())[:most]


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
    print("SURVIVED" if survived else "noticed ", shown, flush=True)
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


def _report(outcomes: list[Outcome]) -> int:
    """Killed and survived by module and room; 1 where a room is below its least share."""
    below = 0
    print(f"\n{'module':58} faults  noticed")
    for room, (_, least) in ROOMS.items():
        of_room = [outcome for outcome in outcomes if outcome.room == room]
        if not of_room:
            continue
        for file in dict.fromkeys(outcome.mutant.file for outcome in of_room):
            of_file = [outcome for outcome in of_room if outcome.mutant.file == file]
            print(f"{file!s:58} {len(of_file):6}  {sum(not outcome.survived for outcome in of_file):7}")
        noticed = sum(not outcome.survived for outcome in of_room)
        print(f"{room:58} {len(of_room):6}  {noticed:7}  {noticed / len(of_room):.0%} (at least {least:.0%})\n")
        below += noticed < least * len(of_room)
    return int(below > 0)


if __name__ == "__main__":
    sys.exit(main())
