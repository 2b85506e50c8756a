"""A sweetened spirit whose strength glass and density hide: flags, dossier, account. The house is made up."""

from datetime import date

import pytest
from small_books import small_book

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.accounts.account import account_html, gather_account
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier import dossier_html

RUNS = """
    BLE-1,blend,T1,RYE,,2026-01-12 10:00,2026-01-12 16:00,AB
    BOT-1,bottle,B1,RYE,,2026-01-14 08:00,2026-01-14 12:00,AB
"""
# 34.47 % vol is what 39.5 % vol with 20 g/L shows (additive volumes, 0.618 mL/g; 27 CFR 30.32(b): 4 % vol for 20 g/L)
MOVES = """
    BLE-1,in,NS-1,spirit,T1,50,20,80,pct_vol_20c,,,distilled
    BLE-1,in,SUGAR-1,sweetening,,,,,,,2,
    BLE-1,out,L-1,liquid,T1,100,20,34.47,alcoholmeter,20,,
    BOT-1,in,L-1,liquid,T1,99,20,34.47,alcoholmeter,20,,
    BOT-1,out,RYE-9,bottles,,,,,,,,
"""
DIRECT = "S1;L-1;strength;34,50;pct_vol;;1;DM;direct"
DISTILLED = "S2;L-1;strength;39,50;pct_vol;;1;DM;distilled"
EXTRACT = "S3;L-1;dry_extract;20,0;g/L;;1;;"
ABOUT_STRENGTH = ("true-strength", "bottled-strength-true", "gauge-against-laboratory", "methods-agree")


@pytest.fixture
def made(tmp_path):
    """Flags about strength, the dossier's page and the account's, with these results of the laboratory."""

    def of(*lab: str, moves: str = MOVES) -> tuple[dict[str, str], str, str]:
        folder = small_book(tmp_path, RUNS, moves, "\n".join(lab), bottling="RYE-9,BOT-1,RYE,2026-01-14 12:00,190,2")
        with open_book(folder, writing=True) as book:
            run_checks(book)
        with open_book(folder) as book:
            house = profile_in_force(book)
            flags = book.frame(
                "SELECT rule, severity FROM flagged.flags WHERE rule IN $rules", {"rules": list(ABOUT_STRENGTH)}
            )
            dossier = dossier_html(gather_batch(book, house, "RYE-9"), "0" * 64)
            account = account_html(gather_account(book, house, date(2026, 1, 1)), "0" * 64)
        return dict(flags.iter_rows()), dossier, account

    return of


def test_nothing_known_stops_the_release_and_is_said(made) -> None:
    """Neither extract nor distillate: the litres are apparent wherever they are shown, and the batch may not go."""
    flags, dossier, account = made(DIRECT)

    assert flags == {"true-strength": "needs explanation", "bottled-strength-true": "stops release"}
    assert "Apparent strength" in dossier and "are apparent: dissolved extract may hide alcohol there" in dossier
    assert "the true litres are not known" in account and "<dt>Apparent</dt>" in account


def test_a_known_extract_is_estimated_and_bottled_strength_is_asked_for(made) -> None:
    """Booked near 39.5 % vol and said to be estimated; no misread gauge is blamed for what the sugar hides."""
    flags, dossier, account = made(DIRECT, EXTRACT)

    assert flags == {"bottled-strength-true": "stops release"}
    assert "Estimated strength" in dossier and "Apparent strength" not in dossier
    assert "<dt>Estimated</dt>" in account


def test_the_distillate_settles_it(made) -> None:
    """With the distillate's strength all litres are true, and the direct reading beside it raises nothing."""
    flags, dossier, account = made(DIRECT, EXTRACT, DISTILLED)

    assert flags == {}
    assert "Apparent strength" not in dossier and "Estimated strength" not in dossier
    assert "<dt>Apparent</dt>" not in account and "<dt>Estimated</dt>" not in account


def test_a_distilled_gauge_is_not_held_against_a_direct_reading(made) -> None:
    """39.5 % vol of the distillate and the laboratory's 34.5 by density differ by the sugar: no gauge was misread."""
    flags, _, _ = made(DIRECT, moves=MOVES.replace("34.47,alcoholmeter,20,,", "39.5,pct_vol_20c,,,distilled"))

    assert "gauge-against-laboratory" not in flags
    assert flags["bottled-strength-true"] == "stops release"
