"""The order of the stages for one book; the only module that knows all of them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from gaugebook.pipeline.book.database import Book, is_book, open_book, writing_turn
from gaugebook.pipeline.book.migration import is_new, migrate, note_new
from gaugebook.pipeline.book.register import Event
from gaugebook.pipeline.book.table_digests import append_events, begin, tables_of
from gaugebook.pipeline.derived.build_state import is_of_this_edition, is_up_to_date
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.profile_changes import own_rules, profile_changes
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.house.settings import House, read_house
from gaugebook.pipeline.intake.file_outcome import FileOutcome
from gaugebook.pipeline.intake.session import IngestSession
from gaugebook.pipeline.received.files import files_below
from gaugebook.pipeline.received.source_map import SourceMap, read_maps
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.log_store import show_readings
from gaugebook.pipeline.typed.map_validation import validate_maps

PIPELINE = Path(__file__).parents[1]
SCHEMAS = ("received/schema.sql", "landed/schema.sql", "typed/schema.sql")
NO_HOUSE = "No house.toml stands at or above these files; write one, or name one with --house."
DATA_SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".gz")


def receive(
    book_folder: Path,
    paths: list[Path],
    house_path: Path | None,
    on_file: Callable[[FileOutcome], None] = lambda _: None,
    on_profile: Callable[[tuple[str, ...]], None] = lambda _: None,
) -> list[FileOutcome]:
    """Take files in, a few in one transaction, then make the derived quantities anew.

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
    on_profile : callable
        Told, before any file is read, the lines that say what changed in the house profile since the one that the book
        held, or what a first profile sets otherwise than the rule book.

    Raises
    ------
    GaugebookError
        If the book, the profile or the source maps cannot be used. Single files that cannot be read are outcomes.
    """
    missing = [path for path in paths if not path.exists()]
    if missing:
        raise SettingsError(f'"{missing[0]}" does not exist; nothing was received.')
    is_named = house_path is not None
    house_path = house_path or _nearest_house(paths)
    if house_path is None and not is_book(book_folder):
        raise SettingsError(NO_HOUSE)
    house_path = house_path or _known_house(book_folder)
    with _ingest_session(book_folder, house_path, on_profile, is_named=is_named) as desk:
        return desk.take_in(_files_to_receive(paths, house_path, desk.house, desk.maps), on_file)


def receive_again(
    book_folder: Path,
    house_path: Path | None,
    on_file: Callable[[FileOutcome], None] = lambda _: None,
    on_profile: Callable[[tuple[str, ...]], None] = lambda _: None,
) -> list[FileOutcome]:
    """Read kept files anew under the settings as they are now: those with refusals, and those whose map was mended.

    Parameters
    ----------
    book_folder : Path
        Folder of the book.
    house_path : Path or None
        House profile; where None, the one the book knows.
    on_file, on_profile : callable
        As of `receive`.

    Raises
    ------
    GaugebookError
        As `receive`.
    """
    path = house_path or _known_house(book_folder)
    with _ingest_session(book_folder, path, on_profile, is_named=house_path is not None) as desk:
        return desk.read_again(on_file)


def maps_in_force(paths: list[Path], house_path: Path | None) -> tuple[House, list[SourceMap]]:
    """House profile and source maps by which these files would be received.

    Raises
    ------
    SettingsError
        If there is no profile at or above the files, or the settings say something that cannot be.
    """
    house_path = house_path or _nearest_house(paths)
    if house_path is None:
        raise SettingsError(NO_HOUSE)
    return _settings(house_path)


def _settings(house_path: Path) -> tuple[House, list[SourceMap]]:
    house = read_house(house_path)
    maps = read_maps(house_path.parent / house.maps, tuple(RECORDS))
    validate_maps(maps)
    return house, maps


@contextmanager
def _ingest_session(
    book_folder: Path, house_path: Path, on_profile: Callable[[tuple[str, ...]], None], *, is_named: bool
) -> Iterator[IngestSession]:
    """A turn at writing the book with settings read, from a profile that somebody named or that was found.

    It ends with the derived quantities made anew.
    """
    house, maps = _settings(house_path)
    with writing_turn(book_folder):
        with open_book(book_folder, writing=True) as book, book.transaction():
            _make_tables(book)
            show_readings(book)
            if not is_named:
                _refuse_another_house(book, house, house_path)
            changes = _keep_house(book, house_path, house)
        on_profile(changes)
        desk = IngestSession(book_folder, house, maps)
        try:
            yield desk
        finally:
            desk.close()
        with open_book(book_folder, writing=True) as book, book.transaction():
            if not is_up_to_date(book):
                derive(book)


def _make_tables(book: Book) -> None:
    """The tables of this version: made in a new book, brought up to date in one of an earlier version."""
    if is_new(book):
        _run_schemas(book)
        begin(book)
        note_new(book)
    else:
        begin(book)
        migrate(book)
        _run_schemas(book)


def _run_schemas(book: Book) -> None:
    for name in SCHEMAS:
        book.run_file(PIPELINE / name)


def bring_up_to_date(book: Book) -> None:
    """Bring a book that another version worked on up to date: its tables, then the derived quantities."""
    if is_of_this_edition(book):
        return
    with book.transaction():
        migrate(book)
        _run_schemas(book)
        derive(book)


def derive(book: Book) -> None:
    """Make the derived quantities anew and enter their state; inside the transaction that changed what they rest on."""
    from gaugebook.pipeline.derived.rebuild import rebuild  # not above: most commands need none of it

    rebuild(book, profile_in_force(book))
    fingerprint = book.value("SELECT fingerprint FROM derived.build_state")
    append_events(
        book, [Event("derived quantities", "made anew", {"made_from": fingerprint})], tables_of(book, "derived")
    )


def _known_house(book_folder: Path) -> Path:
    with open_book(book_folder) as book:
        path = Path(book.value("SELECT origin FROM received.houses ORDER BY edition DESC LIMIT 1"))
    if not path.is_file():
        raise SettingsError(
            f'The house profile "{path}", by which this book was received last, does not stand here: give the command '
            "where it does, or name the profile with --house."
        )
    return path


def _nearest_house(paths: list[Path]) -> Path | None:
    """house.toml beside the first path or in a folder above it, at most up to the root."""
    start = paths[0].resolve() if paths else Path.cwd()
    folders = [start, *start.parents] if start.is_dir() else list(start.parents)
    profile = next((folder / "house.toml" for folder in folders if (folder / "house.toml").is_file()), None)
    if profile is None:
        return None
    current_folder = Path.cwd()
    return profile.relative_to(current_folder) if profile.is_relative_to(current_folder) else profile


def _files_to_receive(paths: list[Path], house_path: Path, house: House, maps: list[SourceMap]) -> list[Path]:
    """The files meant; in a folder the profile, the maps and what is no data file (.toml, .md, .py) are not."""
    own = {house_path.resolve(), *(house_path.parent / house.maps).resolve().glob("*")}
    named = set(paths)
    return [
        path for path in files_below(paths) if path in named or (path.resolve() not in own and _is_data(path, maps))
    ]


def _is_data(path: Path, maps: list[SourceMap]) -> bool:
    return path.suffix.lower() in DATA_SUFFIXES or any(item.takes(path.name) for item in maps)


def _refuse_another_house(book: Book, house: House, path: Path) -> None:
    """A profile found beside the command may be another house's: its zone and maps would read every file otherwise."""
    if not book.value("SELECT count(*) FROM received.houses"):
        return
    own = profile_in_force(book).name
    if own != house.name:
        raise SettingsError(
            f'The book in "{book.folder}" is that of "{own}", and "{path}" is the profile of "{house.name}": name the '
            "profile that is meant with --house, or the book that is with --book."
        )


def _keep_house(book: Book, path: Path, house: House) -> tuple[str, ...]:
    """Keep the profile's text where it differs from the edition in force; lines that say what changed in it."""
    text = path.read_text(encoding="utf-8")
    digest = sha256(text.encode()).hexdigest()
    last = book.frame("SELECT edition, sha256 FROM received.houses ORDER BY edition DESC LIMIT 1").rows()
    if last and last[0][1] == digest:
        return ()
    changed = _changes_since(book, house) if last else ()
    edition = last[0][0] + 1 if last else 1
    book.execute("INSERT INTO received.houses VALUES (?, ?, ?, ?)", [edition, digest, path.as_posix(), text])
    payload = {"edition": edition, "sha256": digest} | ({"changed": list(changed)} if changed else {})
    append_events(book, [Event("house profile", f"edition {edition}", payload)], ["received.houses"])
    if last:
        heading, lines = "The house profile has changed:", changed
    else:
        heading, lines = "The house profile differs from the rule book:", own_rules(house)
    return (heading, *lines) if lines else ()


def _changes_since(book: Book, house: House) -> tuple[str, ...]:
    try:
        return profile_changes(profile_in_force(book), house)
    except SettingsError as error:  # held by an earlier version that took what this one refuses
        return (f"the profile held before cannot be read any more, so its changes are not told ({error})",)
