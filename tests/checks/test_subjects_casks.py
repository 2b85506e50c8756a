"""What is wrong with a cask is found on that cask by its rule, and what casks do by nature is not."""

from math import exp

import polars as pl
import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.checks.evaluation.subjects import FOLDER
from gaugebook.checks.flags.explanation import explanation
from gaugebook.checks.run import effective_rules, run_checks
from gaugebook.pipeline.book.database import open_book


def flags_of(folder, *events, casks=CASKS, opening=OPENING):
    """(rule, record) of the flags on casks, of a book with these events."""
    book = cask_book(folder, opening_stock=opening, casks=casks, cask_events=events)
    with open_book(book, writing=True) as opened:
        run_checks(opened)
        return opened.frame(
            "SELECT rule, record, answer FROM flagged.flags WHERE rule LIKE 'cask-%' ORDER BY ALL"
        ).rows()


def test_a_sound_cask_has_no_flag(tmp_path):
    """Filled, gauged again at a higher strength, sampled, emptied at a lower one, filled once more."""
    found = flags_of(
        tmp_path,
        filled("C1", 200, "2024-02-01"),
        event("C1", "regauged", "2025-02-01", volume_at_t_l=188, strength_reading=63.5),
        event("C1", "sampled", "2025-02-02", volume_at_t_l=0.2, strength_reading=63.5),
        event("C1", "emptied", "2026-02-01", lot="VAT", volume_at_t_l=182, strength_reading=61.0),
        filled("C1", 199, "2026-03-01"),
    )

    assert found == []


@pytest.mark.parametrize(
    ("rule", "record", "events"),
    [
        ("cask-holds", "cask C1, emptied 2025-03-01 00:00", [
            filled("C1", 200, "2024-02-01"),
            event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
            event("C1", "emptied", "2025-03-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
        ]),
        ("cask-holds", "cask C1, sampled 2025-03-01 00:00", [
            filled("C1", 200, "2024-02-01"),
            event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
            event("C1", "sampled", "2025-03-01", volume_at_t_l=0.2, strength_reading=62),
        ]),
        ("cask-overfilled", "cask C1, filling 1", [
            filled("C1", 200, "2024-02-01"), filled("C1", 198, "2024-02-02"),
        ]),
        ("cask-moved-empty", "cask C1, moved 2025-03-01 00:00", [
            filled("C1", 200, "2024-02-01"), event("C1", "moved", "2024-02-02"),
            event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
            event("C1", "moved", "2025-03-01"),
        ]),
        ("cask-gains", "cask C1, filling 1", [
            filled("C1", 190, "2024-02-01"),
            event("C1", "regauged", "2025-02-01", volume_at_t_l=199, strength_reading=62.5),
        ]),
        ("cask-tare", "cask C1, filled 2024-02-01 00:00", [
            event("C1", "filled", "2024-02-01", lot="NM-1", gross_kg=290, tare_kg=110, strength_reading=62.5),
        ]),
        ("cask-registered", "cask C77, filled 2024-02-01 00:00", [filled("C77", 200, "2024-02-01")]),
        ("cask-loss-reason", "cask C1, lost 2024-03-01 00:00", [
            filled("C1", 200, "2024-02-01"), event("C1", "lost", "2024-03-01", alcohol_l=2),
        ]),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_each_fault_is_found_on_its_cask(tmp_path, rule, record, events):
    """One fault, one rule, one record."""
    assert [found[:2] for found in flags_of(tmp_path, *events)] == [(rule, record)]


def test_the_same_filling_weeks_later_is_impossible(tmp_path):
    """200 L twice into a cask of 200 L, seven weeks apart: out, so that it stops a release, though it is in no batch.
    So is a filling into a cask that stood full in the opening stock."""
    opening = [*OPENING, OPENING[0] | {"lot": "OLD-2", "vessel": "C2", "volume_at_t_l": 190, "aged_from": "2023-01-01"}]
    found = flags_of(
        tmp_path, filled("C1", 200, "2024-02-01"), filled("C1", 200, "2024-03-21"), filled("C2", 150, "2024-05-01"),
        opening=opening,
    )  # fmt: skip

    assert found == [("cask-overfilled", f"cask {cask}, filling 1", "out") for cask in ("C1", "C2")]
    with open_book(tmp_path / "book") as book:
        assert set(book.frame("SELECT severity FROM flagged.flags WHERE rule = 'cask-overfilled'")["severity"]) == {
            "stops release"
        }


def test_a_cask_topped_for_what_it_lost_is_not_overfilled(tmp_path):
    """200 L lose 4 % a year and are topped with 23 L after three years; after a draw of 100 L, with as much again."""
    found = flags_of(
        tmp_path,
        filled("C1", 200, "2024-02-01"), filled("C1", 23, "2027-02-01"),
        filled("C2", 200, "2024-02-01"),
        event("C2", "drawn", "2024-03-01", lot="VAT", volume_at_t_l=100, strength_reading=62.5),
        filled("C2", 100, "2024-03-02"),
    )  # fmt: skip

    assert [flag for flag in found if flag[0] == "cask-overfilled"] == []


def test_a_leak_is_found_among_casks_that_lose_alike(tmp_path):
    """Ten casks at about 4 % a year and one at 12 %: that one, and no other."""
    rates = [0.040, 0.042, 0.039, 0.041, 0.043, 0.038, 0.040, 0.041, 0.039, 0.042, 0.12]
    names = [f"C{number:02}" for number in range(1, 12)]
    found = flags_of(
        tmp_path,
        *(filled(name, 200, "2024-01-01") for name in names),
        *(
            event(name, "regauged", "2026-01-01", volume_at_t_l=200 * exp(-2 * rate), strength_reading=62.5)
            for name, rate in zip(names, rates, strict=True)
        ),
        casks=[{"cask": name, "tare_kg": 50, "nominal_l": 200, "wood": "american oak"} for name in names],
        opening=[OPENING[0] | {"volume_at_t_l": 4000}],
    )

    assert found == [("cask-evaporation", "cask C11, filling 1", "doubtful")]


def test_a_cask_whose_name_holds_the_sign_before_its_filling(tmp_path):
    """Cask "B/7" overfilled is judged by its own size, named whole, and explained by its own records, not by those of
    a cask "B"."""
    casks = [{"cask": name, "tare_kg": 50, "nominal_l": litres} for name, litres in (("B/7", 200), ("B", 900))]
    events = [filled("B/7", 200, "2024-02-01"), filled("B/7", 198, "2024-02-02"), filled("B", 500, "2024-02-03")]
    flags = flags_of(tmp_path, *events, casks=casks)

    assert [flag[:2] for flag in flags] == [("cask-overfilled", "cask B/7, filling 1")]
    with open_book(tmp_path / "book") as book:
        rules, frames = effective_rules(book)
        name = book.value("SELECT flag FROM flagged.flags WHERE rule = 'cask-overfilled'")
        inputs = [given["what"] for given in explanation(book, name, rules, frames)["inputs"]]
    assert "cask B/7" in inputs and "cask B" not in inputs
    assert {what for what in inputs if what.startswith("filled")} == {
        "filled cask B/7 on 2024-02-01", "filled cask B/7 on 2024-02-02",
    }  # fmt: skip


def test_an_event_of_a_cask_stands_beside_the_register_and_what_the_cask_held(put, frames, row_of):
    """C1 weighs 50 kg in the register (the heavier of two lines) and 51 kg now: 1/50. A filling poured, or that stood
    there when the book was begun holds something; what stood in another vessel of that name is no filling. A first move
    asks for nothing."""
    for tare_kg in (50.0, 48.0):
        put("typed.casks", cask="C1", tare_kg=tare_kg)
    put("typed.casks", cask="C2", tare_kg=0.0)
    put("derived.openings", lot="C2/1", vessel="C2", origin="opening")
    put("derived.openings", lot="C3/1", vessel="TANK", origin="opening")
    rows = [
        ("C1", "filled", 1, 51.0, (None, None, "yes", 0.02)), ("C1", "emptied", 1, None, ("yes", None, "yes", None)),
        ("C1", "sampled", 2, None, ("no", None, "yes", None)), ("C1", "moved", 2, None, (None, "no", "yes", None)),
        ("C2", "moved", 1, 40.0, (None, None, "yes", None)), ("C2", "sampled", 1, None, ("yes", None, "yes", None)),
        ("C3", "sampled", 1, 40.0, ("no", None, "no", None)),
    ]  # fmt: skip
    for line, (cask, event_, filling, tare_kg, _) in enumerate(rows):
        put("derived.cask_events", cask=cask, event=event_, filling=filling, contents=f"{cask}/{filling}",
            happened_at="2031-01-01 08:00", tare_kg=tare_kg, net_kg=9.0, source_id=3, line=line)  # fmt: skip
    frame = frames()["cask_events"]

    for line, (cask, event_, filling, _, expected) in enumerate(rows):
        row = row_of(frame, line=line)
        assert (row["cask_holds"], row["moved_holds"], row["is_registered"]) == expected[:3]
        assert row["tare_difference"] == (None if expected[3] is None else pytest.approx(expected[3]))
        assert (row["record"], row["note"]) == (f"cask {cask}, {event_} 2031-01-01 08:00", f"filling {filling}")


def test_the_second_move_of_a_filling_that_was_poured_is_no_fault(put, frames, row_of):
    """C1 was filled a second time before it was moved: it held something."""
    for event_ in ("filled", "moved"):
        put("derived.cask_events", cask="C1", event=event_, filling=2, contents="C1/2", happened_at="2031-01-01")

    assert row_of(frames()["cask_events"], event="moved")["moved_holds"] == "yes"


@pytest.fixture
def pour(put):
    """A filling of a cask of 200 L by a gauge: pour("C1/1", 190.0, u_volume_l=1.0)."""

    def poured(contents, volume_l, at="2031-01-01 06:00", **more):
        cask = contents.split("/")[0]
        put("derived.cask_events", cask=cask, event="filled", filling=1, contents=contents, happened_at=at)
        put("derived.gauges", direction="out", lot=contents, vessel=cask, volume_l=volume_l, gauged_at=at,
            **({"part": "spirit", "source_id": 4, "line": 7} | more))  # fmt: skip

    return poured


def test_a_cask_is_as_full_as_what_is_left_of_all_that_was_put_in(put, pour, frames, row_of):
    """100 L stood there since 8766 h before the filling of 90 L, at most 15 % a year lost: 100 exp(-0.15) = 86.0708. A
    draw of 10 L and a sample of 1 L before it are off: 165.0708 of 200 L. Their uncertainties, of the same vessel, add:
    1 + 2 of 200. What comes back, what is bottled and what is drawn later is not."""
    put("typed.casks", cask="C1", nominal_l=200.0)
    put("derived.openings", lot="C1/1", vessel="C1", origin="opening", came_at="2030-07-01", volume_l=100.0,
        u_volume_l=1.0, gauge=1, source_id=2, line=5)  # fmt: skip
    put("typed.opening_stock", lot="C1/1", material="whisky", kind="spirit", counted_at="2030-07-01", vessel="C1",
        aged_from="2030-01-01", source_id=2, line=5)  # fmt: skip
    pour("C1/1", 90.0, u_volume_l=2.0, gauge=2)
    for at, volume_l in (("2030-08-01", 10.0), ("2031-02-01", 50.0)):
        put("derived.gauges", direction="in", lot="C1/1", part="spirit", gauged_at=at, volume_l=volume_l, source_id=4,
            line=2)  # fmt: skip
    for kind, is_bottled, volume_l in (("sampled", False, 1.0), ("returned", False, 20.0), ("dispatched", True, 30.0)):
        put("derived.removals", kind=kind, lot="C1/1", removed_at="2030-09-01", is_bottled=is_bottled,
            volume_l=volume_l)  # fmt: skip

    row = row_of(frames()["casks"], equipment="C1")

    assert (row["record"], row["lot"], row["source_id"], row["line"]) == ("cask C1, filling 1", "C1/1", 4, 7)
    assert row["filled_of_size"] == pytest.approx((100 * exp(-0.15) + 90 - 11) / 200)
    assert row["u_filled_of_size"] == pytest.approx(3 / 200)


def test_the_fullest_moment_of_a_cask_counts(put, pour, frames, row_of):
    """190 L, a draw of 100 L, 50 L more: it was fullest at first, with the uncertainty of then. Of a filling whose
    volume nobody knows the cask is not judged."""
    for cask, nominal_l in (("C1", 200.0), ("C1", 190.0), ("C2", 200.0)):
        put("typed.casks", cask=cask, nominal_l=nominal_l)
    pour("C1/1", 190.0, u_volume_l=1.0, gauge=1)
    put("derived.gauges", direction="in", lot="C1/1", part="spirit", gauged_at="2031-01-02", volume_l=100.0)
    pour("C1/1", 50.0, at="2031-01-03", u_volume_l=2.0, gauge=2, line=9)
    pour("C2/1", 190.0, gauge=3)
    pour("C2/1", None, at="2031-01-03", gauge=4)
    frame = frames()["casks"]

    known, unknown = row_of(frame, equipment="C1"), row_of(frame, equipment="C2")

    assert (known["filled_of_size"], known["u_filled_of_size"], known["line"]) == (0.95, 0.005, 7)
    assert unknown["filled_of_size"] is None


def test_losses_and_evaporation_of_a_cask_stand_together(put, pour, frames, row_of):
    """A gain of 2.0 with u 1.0 is two of them, one of 3.0 with u 2.0 but one and a half. The span of the usual:
    0.04 and 3 times the root of 0.002, 0.003 and 0.006 squared, which is 0.007. Where the pour has no gauge, the first
    file and line of its losses; a cask that was never filled gains nothing."""
    pour("C1/1", 190.0)
    for loss_l, u_loss_l, at, line in (
        (-3.0, 2.0, "2031-06-01", 8),
        (-2.0, 1.0, "2031-07-01", 6),
        (None, 0.1, "2031-08-01", 9),
    ):
        for contents in ("C1/1", "C7/1"):
            put("derived.cask_losses", contents=contents, cask=contents[:2], loss_l=loss_l, u_loss_l=u_loss_l, to_at=at,
                source_id=line, line=line)  # fmt: skip
    put("derived.openings", lot="C5/1", vessel="C5", origin="opening", came_at="2031-01-01")
    put("derived.cask_losses", contents="C5/1", cask="C5", loss_l=2.0, u_loss_l=0.5, to_at="2031-06-02", source_id=8,
        line=3)  # fmt: skip
    put("derived.cask_losses", contents="C5/1", cask="C5", loss_l=9.0, u_loss_l=0.5, to_at="2031-06-03", source_id=9,
        line=4)  # fmt: skip
    put("derived.evaporation", contents="C1/1", cask="C1", per_year=0.05, u_per_year=0.003, like_it="of 200 L", casks=9,
        usual_per_year=0.04, u_usual_per_year=0.006, scatter_per_year=0.002, critical=3.0)  # fmt: skip
    frame = frames()["casks"]

    row, opening = row_of(frame, equipment="C1"), row_of(frame, equipment="C5")

    assert (row["least_loss_l"], row["u_least_loss_l"], row["line"]) == (-2.0, 1.0, 7)
    assert row["note"] == "of 200 L, 9 casks, 2031-07-01"
    assert (row["most_per_year"], row["least_per_year"]) == pytest.approx((0.061, 0.019))
    assert (opening["least_loss_l"], opening["source_id"], opening["line"]) == (2.0, 8, 3)
    assert frame["equipment"].to_list() == ["C1", "C5"]


def rows_of(book, subject, offered, rows):
    """A subject's rows where one offered table holds these."""
    with book.with_temp_view(offered, pl.DataFrame(rows)):
        return book.frame((FOLDER / f"{subject}.sql").read_text(encoding="utf-8")).to_dicts()


@pytest.mark.parametrize(
    ("contents", "record", "cask"),
    [("C1/2", "cask C1, filling 2", "C1"), ("B/7/3", "cask B/7, filling 3", "B/7")],
)
def test_a_filling_that_has_a_greatest_strength_is_named_by_its_cask(book, contents, record, cask):
    """A cask's name may hold the sign that stands before its filling; class and source are the note."""
    limits = {"source_id": 2, "line": 5, "meant_for": "a class", "citation": "a law", "entry_pct_vol": 63.0,
              "u_entry_pct_vol": 0.1, "entry_most_pct_vol": 62.5}  # fmt: skip

    (row,) = rows_of(book, "cask_entries", "entry_limits", [{"contents": contents} | limits])

    assert (row["record"], row["equipment"], row["lot"]) == (record, cask, contents)
    assert (row["note"], row["entry_pct_vol"], row["entry_most_pct_vol"]) == ("a class; a law", 63.0, 62.5)


def test_what_a_label_claims_is_placed_at_its_own_bottling(book, bottle):
    """Of two batches each has the line of its bottling record; note and source are told where there are any."""
    for batch, line in (("V-1", 4), ("V-2", 9)):
        bottle(batch, "VODKA", "PROOF")
        book.execute("UPDATE typed.bottling SET line = ? WHERE lot = ?", [line, batch])
    claimed = [
        {"batch": batch, "claim": "age", "asks": "3 years", "shown": "4", "is_confirmed": "yes", "note": note,
         "citation": "a law"} for batch, note in (("V-1", "youngest C1/1"), ("V-2", None))
    ]  # fmt: skip

    rows = rows_of(book, "claims", "label_claims", claimed)

    assert [(row["record"], row["line"], row["note"]) for row in rows] == [
        ("batch V-1, age: 3 years", 4, "youngest C1/1; a law"), ("batch V-2, age: 3 years", 9, "a law"),
    ]  # fmt: skip
