"""What the derived tables were made from, so that they are made anew only where that has changed.

Apart from `rebuild`, which takes a second to import: a command that finds all as it was need not wait for it.
"""

from hashlib import sha256
from pathlib import Path

from pipeline.database import Book

HERE = Path(__file__).parent


def is_up_to_date(book: Book) -> bool:
    """Whether derived.* was made from what the book holds now, by the code as it is now."""
    exists = "SELECT 1 FROM information_schema.tables WHERE table_schema = 'derived' AND table_name = 'made_from'"
    if not book.value(exists):
        return False
    return bool(book.value("SELECT fingerprint FROM derived.made_from") == fingerprint(book))


def fingerprint(book: Book) -> str:
    """What the derived tables depend on: files and how often each was read, amendments, profile, and the code."""
    state = book.value("""
        SELECT (SELECT concat_ws(' ', count(*), sum(times_read)) FROM received.files) || ' files, '
            || (SELECT count(*) FROM typed.amendments) || ' amendments, edition '
            || (SELECT coalesce(max(edition), 0) FROM received.houses)
    """)
    code = sha256()
    for path in sorted([*HERE.parent.rglob("*.py"), *HERE.parent.rglob("*.sql")]):
        code.update(path.read_bytes())
    return f"{state}, code {code.hexdigest()}"
