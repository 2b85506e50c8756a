"""What leaves the account otherwise than by a run, as rows to gauge: on records put in by hand."""

from datetime import datetime

import pytest

DAY = datetime(2031, 1, 10)
READ = {"strength_reading": 60.0, "reading_kind": "pct_vol_20c"}


@pytest.fixture
def rows(made_by):
    """Rows of the query by kind."""
    return lambda: {row["kind"]: row for row in made_by("removals_to_gauge")}


def test_each_kind_says_what_its_record_says(put, rows):
    """To whom, by which document, why, by whom and before whom; quantities as they were read."""
    amounts = {"volume_at_t_l": 10.0, "volume_temperature_c": 15.0, "mass_kg": 9.0, **READ}
    put("typed.dispatches", lot="A", vessel="T1", dispatched_at=DAY, customer="K-1", duty_status="in bond",
        document="D", person="P1", **amounts)  # fmt: skip
    put("typed.returns", lot="A", vessel="T2", returned_at=DAY, customer="K-2", duty_status="duty paid", document="R",
        reason="broken", person="P2", **amounts)  # fmt: skip
    put("typed.samples", lot="A", vessel="T3", taken_at=DAY, recipient="LAB", purpose="panel", document="S",
        person="P3", **amounts)  # fmt: skip
    put("typed.destructions", lot="A", vessel="T4", destroyed_at=DAY, reason="leaky", witness="W", document="X",
        person="P4", **amounts)  # fmt: skip

    names = ("vessel", "to_whom", "duty_status", "document", "reason", "person", "witness", "measured_in")
    shown = {kind: tuple(row[name] for name in names) for kind, row in rows().items()}
    assert shown == {
        "dispatched": ("T1", "K-1", "in bond", "D", None, "P1", None, "T1"),
        "returned": ("T2", "K-2", "duty paid", "R", "broken", "P2", None, "T2"),
        "sampled": ("T3", "LAB", None, "S", "panel", "P3", None, "T3"),
        "destroyed": ("T4", None, None, "X", "leaky", "P4", "W", "T4"),
    }  # fmt: skip
    same = ("lot", "removed_at", "volume_at_t_l", "volume_temperature_c", "mass_kg", "strength_reading", "is_bottled",
            "part")  # fmt: skip
    assert {tuple(row[name] for name in same) for row in rows().values()} == {
        ("A", DAY, 10.0, 15.0, 9.0, 60.0, False, "spirit")
    }
    assert rows()["dispatched"]["named"] == "dispatched A T1 2031-01-10 00:00:00 D K-1 1 1"
    assert rows()["dispatched"]["read_for"] == rows()["dispatched"]["named"]


@pytest.mark.parametrize(
    ("kind", "temperature_c"),
    [("us_proof_60f", 140 / 9), ("us_proof_hydrometer", 140 / 9), ("pct_vol_20c", 20.0), (None, 20.0)],
)
def test_a_volume_without_a_temperature(put, rows, kind, temperature_c):
    """Is one at 20 °C, at 60 °F with a proof: (60 - 32) / 1.8 = 15.56 °C."""
    put("typed.samples", lot="A", taken_at=DAY, volume_at_t_l=1.0, reading_kind=kind)

    assert rows()["sampled"]["volume_temperature_c"] == pytest.approx(temperature_c)


def test_bottles_stand_for_their_part_of_what_was_filled(put, rows):
    """1000 of 280 LPA and 200 there before of 80 LPA: 0.3 LPA each; a quantity in pure alcohol goes before; what was
    drawn back or filled otherwise says nothing of a bottle."""
    put("derived.gauges", lot="B", part="bottles", direction="out", alcohol_l=280.0, pieces=1000.0)
    put("derived.gauges", lot="B", part="bottles", direction="in", alcohol_l=99.0, pieces=1.0)
    put("derived.gauges", lot="B", part="liquid", direction="out", alcohol_l=99.0, pieces=1.0)
    put("derived.openings", lot="B", kind="bottled spirit", alcohol_l=80.0, pieces=200.0)
    put("derived.openings", lot="B", kind="spirit", alcohol_l=80.0, pieces=1.0)
    put("typed.dispatches", lot="B", dispatched_at=DAY, pieces=10.0)
    put("typed.samples", lot="B", taken_at=DAY, pieces=10.0, alcohol_l=2.5)
    put("typed.returns", lot="OTHER", returned_at=DAY, pieces=10.0)

    shown = {kind: (row["stated_alcohol_l"], row["is_bottled"]) for kind, row in rows().items()}

    assert shown == {
        "dispatched": (pytest.approx(3.0), True), "sampled": (2.5, True), "returned": (None, False),
    }  # fmt: skip


def put_event(put, event, on, contents="C1/1", line=1, **more):
    put("derived.cask_events", cask=contents.split("/")[0], contents=contents, event=event, happened_at=on, source_id=2,
        line=line, **more)  # fmt: skip


def test_what_left_a_cask_is_what_it_held_at_the_time(put, rows):
    """Emptied once before, and once at that moment: the second filling. A tank gives the lot itself."""
    put("typed.cask_events", cask="C1", event="moved", happened_at=DAY)
    for contents, on in (("C1/1", "2030-01-01"), ("C1/2", DAY), ("C9/1", "2030-01-01")):
        put_event(put, "emptied", on, contents)
    put("typed.dispatches", lot="C1", vessel="C1", dispatched_at=DAY, alcohol_l=1.0, line=1)
    put("typed.samples", lot="A", vessel="T1", taken_at=DAY, line=1)
    put("typed.returns", lot="C1", vessel="C1", returned_at="2029-01-01", line=1)

    assert {kind: row["lot"] for kind, row in rows().items()} == {
        "dispatched": "C1/2", "sampled": "A", "returned": "C1/1",
    }  # fmt: skip


def test_a_sample_of_a_cask_is_as_strong_as_it_was_last_found(put, rows):
    """Before it, in the same filling: not the first gauge, not a later one. A strength of its own goes before."""
    for on, strength, line in (("2030-01-01", 63.0, 1), ("2030-06-01", 62.0, 2), ("2032-01-01", 50.0, 3)):
        put_event(put, "regauged", on, strength_reading=strength, reading_kind="pct_vol_20c", instrument="DM",
                  preparation="direct", reading_temperature_c=19.0, line=line)  # fmt: skip
    put_event(put, "regauged", "2030-12-01", "C1/2", strength_reading=40.0, line=4)
    put_event(put, "sampled", DAY, volume_at_t_l=0.2, line=5, document="D", person="P", reason="check")
    put_event(put, "lost", "2031-01-11", line=6, strength_reading=58.0, volume_at_t_l=1.0)

    shown = rows()
    names = ("strength_reading", "reading_kind", "reading_temperature_c", "instrument", "preparation")

    assert [shown["sampled"][name] for name in names] == [62.0, "pct_vol_20c", 19.0, "DM", "direct"]
    assert (shown["sampled"]["lot"], shown["sampled"]["vessel"], shown["sampled"]["removed_at"]) == ("C1/1", "C1", DAY)
    assert (shown["sampled"]["document"], shown["sampled"]["person"], shown["sampled"]["reason"]) == ("D", "P", "check")
    assert shown["lost"]["strength_reading"] == 58.0
    assert set(shown) == {"sampled", "lost"}


@pytest.mark.parametrize(
    ("event", "weighed", "mass_kg"),
    [
        ("sampled", {"net_kg": 1.0, "gross_kg": 3.0}, 1.0), ("sampled", {"net_kg": 1.0}, 1.0),
        ("lost", {"net_kg": 1.0}, 1.0), ("lost", {"net_kg": 250.0, "gross_kg": 300.0}, None),
    ],
)  # fmt: skip
def test_the_mass_of_what_left_a_cask(put, rows, event, weighed, mass_kg):
    """The gross mass of a leaking cask is that of the cask, and not of what leaked."""
    put_event(put, event, DAY, alcohol_l=0.5, **weighed)

    row = rows()[event]
    assert (row["mass_kg"], row["stated_alcohol_l"], row["is_bottled"]) == (mass_kg, 0.5, False)
    assert row["strength_reading"] is None


def test_a_cask_of_the_opening_stock_is_as_strong_as_it_was_counted(put, rows):
    """Where it was read then; a tank of that name is none, and without a volume no strength is looked for."""
    put("typed.casks", cask="C9")
    for vessel in ("C9", "T1"):
        put(
            "typed.opening_stock",
            lot="OLD",
            material="x",
            kind="spirit",
            vessel=vessel,
            counted_at="2030-01-01",
            **READ,
        )
    put_event(put, "sampled", DAY, "C9/1", volume_at_t_l=0.2)
    put_event(put, "lost", DAY, "C9/1", line=2)

    shown = rows()
    assert (shown["sampled"]["strength_reading"], shown["lost"]["strength_reading"]) == (60.0, None)


def test_what_the_laboratory_and_the_extract_say(put, rows):
    """Of the strength of its lot, with what it rests on; and whether something is or may be dissolved."""
    put("derived.laboratory", lot="A", analyte="strength", value=61.0, u_value=0.1, preparation="distilled",
        instrument="DM", scatter=0.3)  # fmt: skip
    put("derived.laboratory", lot="A", analyte="ph", value=7.0)
    put("derived.laboratory", lot="B", analyte="strength", value=None)
    put("derived.extracts", lot="A", extract_g_l=5.0, u_extract_g_l=0.2, may_hold_from="botanical")
    put("derived.extracts", lot="B", extract_g_l=0.1)
    put("typed.samples", lot="A", taken_at=DAY)
    put("typed.returns", lot="B", returned_at=DAY)

    names = ("known_strength_pct_vol", "u_known_strength_pct_vol", "known_preparation", "known_from",
             "known_instrument", "known_scatter", "known_for", "extract_g_l", "u_extract_g_l", "may_hold")  # fmt: skip
    shown = {kind: tuple(row[name] for name in names) for kind, row in rows().items()}
    assert shown == {
        "sampled": (61.0, 0.1, "distilled", "laboratory", "DM", 0.3, "A", 5.0, 0.2, True),
        "returned": (None,) * 7 + (0.1, None, False),
    }
