"""gaugebook board: what is in hand, as one page for the browser."""

import json
from pathlib import Path

import click


@click.command("board")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out"), show_default=True,
    help="Folder that board.html goes to; dossiers in it, or in its folder dossiers, are linked.",
)  # fmt: skip
@click.option(
    "--months", type=click.IntRange(min=1), default=13, show_default=True,
    help="How far back runs are shown one by one; months are shown of all years.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="For machines; writes no page.")
@click.pass_obj
def board_command(book_folder: Path, out: Path, months: int, as_json: bool) -> None:
    """Write the board as one HTML page that works from a file, without any network, and print where it is."""
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.board.board import gather_board
    from gaugebook.reports.board.board_data import board_data
    from gaugebook.reports.board.board_page import board_html
    from gaugebook.reports.page.pages import write

    with open_book(book_folder) as book:
        require_checked(book)
        board = gather_board(book, profile_in_force(book), out, months)
    if as_json:
        click.echo(json.dumps(board_data(board), indent=1, ensure_ascii=False))
    else:
        click.echo(write(out, "board.html", board_html(board).encode()))
