"""The house profile as the book keeps it."""

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import BookError
from gaugebook.pipeline.house.settings import House, parse_house


def profile_in_force(book: Book) -> House:
    """The house profile in force in this book.

    Raises
    ------
    BookError
        If the book holds none yet.
    """
    rows = book.frame("SELECT text, origin FROM received.houses ORDER BY edition DESC LIMIT 1").rows()
    if not rows:
        raise BookError(f'The book in "{book.folder}" holds no house profile yet; receive files first.')
    text, origin = rows[0]
    return parse_house(text, origin)
