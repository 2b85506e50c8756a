"""The order of the stages for one book; the only module that knows all of them."""

import getpass
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import polars as pl

from pipeline.database import Book, open_book
from pipeline.derived.rebuild import rebuild
from pipeline.errors import BookError, FileRefused, SettingsError
from pipeline.landed.tables import TextTable, read_tables
from pipeline.received.files import IncomingFile, files_below, keep, read_incoming
from pipeline.received.source_map import SourceMap, map_for, read_maps
from pipeline.settings import House, parse_house, read_house
from pipeline.typed.fits import check_maps
from pipeline.typed.kinds import RECORDS
from pipeline.typed.recording import RowCounts, record_section
from pipeline.typed.section import type_section

SCHEMAS = ("received/schema.sql", "landed/schema.sql", "typed/schema.sql")


@dataclass
class FileOutcome:
    """What became of one file: received, already held, or refused whole with a reason."""

    path: Path
    outcome: str
    reason: str = ""
    counts: list[RowCounts] = field(default_factory=list)


def receive(
    book_folder: Path,
    paths: list[Path],
    house_path: Path | None,
    on_file: Callable[[FileOutcome], None] = lambda _: None,
) -> list[FileOutcome]:
    """Take files in, one transaction a file, then make the derived quantities anew.

    Parameters
    ----------
    book_folder : Path
        Folder of the book; made where there is none.
    paths : list of Path
        Files, and folders whose files are all meant.
    house_path : Path or None
        House profile; where None, the nearest house.toml at or above the files, else the one the book knows.
    on_file : callable
        Told of each file as it is done.

    Raises
    ------
    GaugebookError
        If the book, the profile or the source maps cannot be used. Single files that cannot be read are outcomes.
    """
    missing = [path for path in paths if not path.exists()]
    if missing:
        raise SettingsError(f'"{missing[0]}" does not exist; nothing was received.')
    house_path = house_path or _nearest_house(paths)
    if house_path is None:
        with open_book(book_folder) as book:
            house_path = Path(book.value("SELECT origin FROM received.houses ORDER BY edition DESC LIMIT 1"))
    house = read_house(house_path)
    maps = read_maps(house_path.parent / house.maps, tuple(RECORDS))
    check_maps(maps)
    outcomes = []
    with open_book(book_folder, writing=True) as book:
        _make_schemas(book)
        _keep_house(book, house_path)
        for path in _files_to_receive(paths, house_path, house):
            outcome = _receive_file(book, path, maps, house)
            outcomes.append(outcome)
            on_file(outcome)
        with book.transaction():
            rebuild(book, house_of(book))
    return outcomes


def house_of(book: Book) -> House:
    """The house profile in force in this book."""
    rows = book.frame("SELECT text, origin FROM received.houses ORDER BY edition DESC LIMIT 1").rows()
    if not rows:
        raise BookError(f'The book in "{book.folder}" holds no house profile yet; receive files first.')
    text, origin = rows[0]
    return parse_house(text, origin)


def _nearest_house(paths: list[Path]) -> Path | None:
    """house.toml beside the first path or in a folder above it, at most up to the root."""
    start = paths[0].resolve() if paths else Path.cwd()
    folders = [start, *start.parents] if start.is_dir() else list(start.parents)
    found = next((folder / "house.toml" for folder in folders if (folder / "house.toml").is_file()), None)
    if found is None:
        return None
    here = Path.cwd()
    return found.relative_to(here) if found.is_relative_to(here) else found


def _files_to_receive(paths: list[Path], house_path: Path, house: House) -> list[Path]:
    """The files meant; in a folder the profile, the maps and what is no data file (.toml, .md, .py) are not."""
    own = {house_path.resolve(), *(house_path.parent / house.maps).resolve().glob("*")}
    named = {path for path in paths if path.is_file()}
    return [
        path
        for path in files_below(paths)
        if path in named or (path.resolve() not in own and path.suffix.lower() in (".csv", ".tsv", ".txt", ".xlsx"))
    ]


def _make_schemas(book: Book) -> None:
    for name in SCHEMAS:
        book.run_file(Path(__file__).parent / name)


def _keep_house(book: Book, path: Path) -> None:
    """Keep the profile's text where it differs from the edition in force."""
    text = path.read_text(encoding="utf-8")
    digest = sha256(text.encode()).hexdigest()
    last = book.frame("SELECT edition, sha256 FROM received.houses ORDER BY edition DESC LIMIT 1").rows()
    if last and last[0][1] == digest:
        return
    edition = last[0][0] + 1 if last else 1
    book.execute("INSERT INTO received.houses VALUES (?, ?, ?, ?)", [edition, digest, path.as_posix(), text])


def _receive_file(book: Book, path: Path, maps: list[SourceMap], house: House) -> FileOutcome:
    try:
        file = read_incoming(path)
        if book.value("SELECT 1 FROM received.files WHERE sha256 = ?", [file.sha256]):
            return FileOutcome(path, "already held")
        source_map = map_for(path, maps)
        tables = read_tables(path, file.content, source_map)
    except FileRefused as error:
        return FileOutcome(path, "refused", str(error))
    keep(file, book.folder)
    outcome = FileOutcome(path, "received")
    with book.transaction():
        file_id = _register(book, file, source_map)
        number = 0
        for table, sections in tables:
            source_id = _land(book, table, file_id)
            for section in sections:
                number += 1
                typed = type_section(table, section, source_map.read, house.time_zone)
                outcome.counts.append(record_section(book, typed, source_id, number))
    return outcome


def _register(book: Book, file: IncomingFile, source_map: SourceMap) -> int:
    if not book.value("SELECT 1 FROM received.maps WHERE map = ? AND sha256 = ?", [source_map.name, source_map.sha256]):
        book.execute(
            "INSERT INTO received.maps VALUES (?, ?, ?)",
            [source_map.name, source_map.sha256, source_map.text],
        )
    return book.value(
        """
        INSERT INTO received.files (sha256, name, origin, size_bytes, map, received_at, received_by)
        VALUES (?, ?, ?, ?, ?, ?, ?) RETURNING file_id
        """,
        [
            file.sha256, file.path.name, file.path.parent.as_posix(), len(file.content), source_map.name,
            datetime.now(UTC).replace(tzinfo=None), _person(),
        ],
    )  # fmt: skip


def _person() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no account name on this machine
        return "unknown"


def _land(book: Book, table: TextTable, file_id: int) -> int:
    source_id: int = book.value(
        "INSERT INTO landed.sources (file_id, sheet, header_line, header) VALUES (?, ?, ?, ?) RETURNING source_id",
        [file_id, table.sheet, table.header_line, table.header],
    )
    rows = pl.DataFrame(
        {"line": table.lines, "cells": table.rows}, schema={"line": pl.Int32, "cells": pl.List(pl.String)}
    )
    book.append("landed.rows", rows.with_columns(pl.lit(source_id, pl.Int32).alias("source_id")))
    return source_id
