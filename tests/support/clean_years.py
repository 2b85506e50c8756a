"""Thirteen months of the sample distillery without any fault, from another seed and with harsher instruments.

The sample's readings lie well within their stated uncertainties, so that the demo is calm; here each gauge and result
has the whole of it, with tails. The stills' logs are left out: no rule that stops a release looks at them.
"""

import contextlib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from random import Random
from shutil import copytree
from unittest.mock import patch

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive
from sample_logs.generator import chance, faults, files, instruments, laboratory, plan
from sample_logs.generator.simulation import simulate
from sample_logs.generator.writers.still_logs import still_logs

SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"
NEVER = date(1900, 1, 1)
TAILS = 8.0  # standard deviations at which the noise of a reading is cut off


def _with_tails(rng: Random, mean: float, sd: float, bound: float = TAILS) -> float:
    """Noise of a reading; what the workings themselves vary by stays within the sample's two standard deviations."""
    return chance.bounded(rng, mean, sd, bound)


@contextlib.contextmanager
def _without_faults(seed: str) -> Iterator[None]:
    """The generator under another seed, with every planted fault moved to where nothing happens."""
    days = ("WARM_ALCOHOLMETER", "LOG_HOUR", "FALL_FROM", "FALL_TO", "REPAIRED", "POOR_MALT_FROM", "POOR_MALT_TO")
    cycles = ("HALF_BOTANICAL", "UNKNOWN_LOT", "STUCK_PROBE", "MISSING_RESULT", "LABEL_OFF", "SHORT_STEEP", "METHANOL")
    moved = dict.fromkeys(days, NEVER) | {name: (-1, *getattr(faults, name)[1:]) for name in cycles}
    moved |= {"DRIED_PEEL": -1, "OVERLAP": -1, "SHORT_FILLS": -1, "OVERDRAWN": -1}
    with (
        patch.multiple(faults, **moved),
        patch.multiple(plan, SHORT_STEEP=moved["SHORT_STEEP"], OVERLAP=-1),
        patch.object(laboratory, "swap_digits", lambda house: None),
        patch.object(chance, "SEED", seed),
        patch.object(instruments, "bounded", _with_tails),
        patch.object(instruments, "IN_HAND", 1.0),
        patch.object(laboratory, "bounded", _with_tails),
    ):
        yield


def clean_year(seed: str, folder: Path, until: str = "9999") -> Path:
    """A book of one clean year, received and derived; returns its folder. Months from `until` on are left out."""
    site = folder / "site"
    site.mkdir(parents=True)
    copytree(SAMPLE_LOGS / "maps", site / "maps")
    (site / "house.toml").write_bytes((SAMPLE_LOGS / "house.toml").read_bytes())
    with _without_faults(seed):
        book = simulate.__wrapped__().book  # not the year that is kept for the sample
        for output in (output for writer in files.WRITERS if writer is not still_logs for output in writer(book)):
            if output.path < until:
                path = site / output.path
                path.parent.mkdir(exist_ok=True)
                path.write_bytes(output.content)
        planted = [fault.fault for fault in book.faults]
    assert not planted, planted
    receive(folder / "book", sorted(site.glob("20*")), site / "house.toml")
    return folder / "book"


def stopped(book_folder: Path) -> tuple[int, dict[str, list[str]]]:
    """How many batches the book has, and by rule the records whose flags stop a release."""
    from gaugebook.checks.run import run_checks

    with open_book(book_folder, writing=True) as book:
        run_checks(book)
        flags = book.frame(
            "SELECT rule, list(record) FROM flagged.flags WHERE severity = 'stops release' GROUP BY rule"
        )
        batches = book.frame("SELECT batch, standing FROM flagged.standings")
        return len(batches), dict(flags.rows()) | {"batches": batches.filter(standing="stopped")["batch"].to_list()}
