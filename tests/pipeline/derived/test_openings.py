"""What came in or was there at the start: one opening quantity that lots, checks, account and traces share."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.tracing import recall, trace
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import COLUMNS, gather_account, known_months
from gaugebook.reports.accounts.lot_trace import gather_trace

MOVES = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\n"
RUNS = "run,stage,equipment,product,recipe,started,ended,operator\n"
BLEND_AND_BOTTLE = RUNS + (
    "BLD-1,blend,T1,RYE,,2026-01-06 08:00,2026-01-06 09:00,AB\n"
    "BLD-2,blend,T1,RYE,,2026-01-07 08:00,2026-01-07 09:00,AB\n"
    "BOT-1,bottle,B1,RYE,,2026-01-14 08:00,2026-01-14 12:00,AB\n"
)
NO_FERMENT = {
    "intake.csv": "lot,material,kind,received,kg,extract,moisture\n",
    "S1_0112.csv": "controller S1\nTime,Pot,Vapour\n",
}
SPIRIT = "lot,material,kind,vessel,received,L,kg,S\n"
OPENING = "lot,material,kind,vessel,counted,L,tV,S,reading,kg,bottles,mL,label,aged,by\n"
LAB = "sample;lot;analyte;value;unit;t;rep;instrument\n"


def _moves(*draws: str) -> str:
    """Two blends of what is drawn, of which the first is bottled: 100 L at 40 % vol each."""
    return (
        MOVES
        + "".join(f"{draw}\n" for draw in draws)
        + (
            "BLD-1,out,L1,liquid,T1,100,20,40,pct_vol_20c,,\n"
            "BLD-2,out,L2,liquid,T2,100,20,40,pct_vol_20c,,\n"
            "BOT-1,in,L1,liquid,T1,100,20,40,pct_vol_20c,,\n"
            "BOT-1,out,RYE-1,bottles,,,,,,,\n"
        )
    )


def _site(moves: str, **more: str) -> dict[str, str]:
    files = {name.replace("__", "."): text for name, text in more.items()}
    return {"runs.csv": BLEND_AND_BOTTLE, "moves.csv": moves, "lab.csv": LAB, **NO_FERMENT, **files}


def _lot(folder: Path, lot: str) -> dict:
    with open_book(folder / "book") as book:
        return book.frame("SELECT * FROM derived.lots WHERE lot = ?", [lot]).row(0, named=True)


def _flags(folder: Path, rule: str) -> pl.DataFrame:
    with open_book(folder / "book", writing=True) as book:
        run_checks(book)
        return book.frame("SELECT * FROM flagged.flags WHERE rule = ? ORDER BY lot", [rule])


def _standing(folder: Path) -> str:
    with open_book(folder / "book") as book:
        return book.value("SELECT standing FROM flagged.standings WHERE batch = 'RYE-1'")


ONE_CASK = "BLD-1,in,C1,spirit,,66.7,20,60,pct_vol_20c,,"
ONE_CASK_AGAIN = "BLD-2,in,C1,spirit,,66.7,20,60,pct_vol_20c,,"


@pytest.mark.parametrize("kind", ["neutral spirit", "spirit"])
def test_received_spirit_emptied_twice_stops_release(received, tmp_path, kind):
    """66.7 L at 60 % vol were received and two runs drew all of it: overdrawn by 40.02 LPA, the batch is stopped."""
    spirit = SPIRIT + f"C1,bought spirit,{kind},CASK1,2026-01-02,66.7,,60\n"
    received(_site(_moves(ONE_CASK, ONE_CASK_AGAIN), spirit__csv=spirit))

    lot = _lot(tmp_path, "C1")
    assert (lot["origin"], lot["basis"]) == ("received", "LPA")
    assert lot["quantity_in"] == pytest.approx(40.02)
    assert lot["remaining"] == pytest.approx(-40.02)
    flag = _flags(tmp_path, "lot-overdrawn").row(0, named=True)
    assert (flag["lot"], flag["answer"], flag["severity"]) == ("C1", "out", "stops release")
    assert _standing(tmp_path) == "stopped"


def test_received_spirit_drawn_once_is_in_order(received, tmp_path):
    """The same lot drawn once is neither overdrawn nor unknown."""
    spirit = SPIRIT + "C1,bought spirit,spirit,CASK1,2026-01-02,66.7,,60\n"
    received(_site(_moves(ONE_CASK, "BLD-2,in,C2,spirit,,1,20,60,pct_vol_20c,,"), spirit__csv=spirit))

    assert "C1" not in _flags(tmp_path, "lot-overdrawn")["lot"].to_list()
    assert "C1" not in _flags(tmp_path, "lot-quantity-known")["lot"].to_list()


def test_a_draw_without_a_strength_takes_that_of_the_delivery(received, tmp_path):
    """A draw of received spirit that was not read again has the strength that it came with, so two of them are seen."""
    draws = [f"{run},in,C1,spirit,,66.7,20,,,," for run in ("BLD-1", "BLD-2")]
    received(_site(_moves(*draws), spirit__csv=SPIRIT + "C1,bought spirit,spirit,,2026-01-02,66.7,,60\n"))

    assert _lot(tmp_path, "C1")["quantity_out"] == pytest.approx(2 * 40.02)
    assert _flags(tmp_path, "lot-overdrawn")["lot"].to_list() == ["C1"]


def test_spirit_received_without_a_strength_stops_release(received, tmp_path):
    """What nobody can judge is not in order: the opening quantity is not known, and the batch is stopped."""
    spirit = SPIRIT + "C1,bought spirit,spirit,,2026-01-02,66.7,,\n"
    received(_site(_moves(ONE_CASK, ONE_CASK_AGAIN), spirit__csv=spirit))

    assert _lot(tmp_path, "C1")["quantity_in"] is None
    flag = _flags(tmp_path, "lot-quantity-known").row(0, named=True)
    assert (flag["lot"], flag["severity"]) == ("C1", "stops release")
    assert "no strength was read and none is known of the lot" in flag["message"]
    assert _standing(tmp_path) == "stopped"
    with open_book(tmp_path / "book") as book:
        notes = gather_account(book, profile_in_force(book), date(2026, 1, 1)).notes
    assert [note["record"] for note in notes if note["what"] == "not in the account"] == ["C1"]


def test_spirit_received_by_mass(received, tmp_path):
    """100 kg at 60 % vol: 60 % vol weighs 909.1 kg/m3 in vacuo (OIML R 22), 1.1 kg/m3 less in air, so 66.08 LPA."""
    received(_site(_moves(ONE_CASK), spirit__csv=SPIRIT + "C1,bought spirit,spirit,,2026-01-02,,100,60\n"))

    assert _lot(tmp_path, "C1")["quantity_in"] == pytest.approx(100 / (0.9091 - 0.0011) * 0.60, rel=3e-4)


@pytest.mark.parametrize(
    "row",
    [
        "C1,alcohol,2026-01-02,11921.6,,,190",  # wine gallons at 60 °F, with a proof
        "C1,alcohol,2026-01-02,,,22650.8,",  # proof gallons alone
        "C1,alcohol,2026-01-02,,81000,,190",  # pounds, with a proof
    ],
)
def test_us_measures(received, tmp_path, row):
    """27 CFR 30.64: 81,000 lb of 190 proof are 11,921.6 wine gallons and 22,650.8 proof gallons, however stated.

    A proof gallon is 3.785412 / 2 L of ethanol at 60 °F (27 CFR 30.11), and 0.48 % more at 20 °C (its expansion of
    1.08e-3 per K over 4.44 K, handbook value from memory).
    """
    us_spirit = "lot,material,received,gallons,lb,PG,proof\n" + row + "\n"
    received(_site(_moves(ONE_CASK), us_spirit__csv=us_spirit))

    assert _lot(tmp_path, "C1")["quantity_in"] == pytest.approx(22650.8 * 1.892706 * 1.0048, rel=4e-4)


def test_a_grain_lot_drawn_twice_stops_release(received, tmp_path):
    """500 kg of malt were received and three mashes drew 200 kg each: 100 kg too many, far beyond the scale."""
    mashes = "".join(f"MSH-{n},mash,M1,,rye mash,2026-01-0{n + 2} 08:00,2026-01-0{n + 2} 14:00,AB\n" for n in (2, 3))
    runs = RUNS + "MSH-1,mash,M1,,rye mash,2026-01-05 08:00,2026-01-05 14:00,AB\n" + mashes
    moves = MOVES + "".join(
        f"MSH-{n},in,MALT-1,grain,,,,,,,200\nMSH-{n},out,WORT-{n},wort,F1,1000,20,,,,\n" for n in (1, 2, 3)
    )
    received({"runs.csv": runs, "moves.csv": moves, "lab.csv": LAB})

    lot = _lot(tmp_path, "MALT-1")
    assert (lot["basis"], lot["remaining"]) == ("kg", pytest.approx(-100.0))
    # 0.05 % of each weighing. Delivered: 0.25 kg, on another's balance. Drawn: 0.1 kg three times, of which three
    # tenths scatter and the rest, sqrt(1 - 0.3^2) = 0.954, is the balance's own: sqrt(0.286^2 + 3 x 0.03^2) = 0.291 kg.
    # u = sqrt(0.25^2 + 0.291^2) = 0.384 kg
    assert lot["overdraw"] == pytest.approx(100 - 2 * 0.3836, abs=0.001)
    assert _flags(tmp_path, "lot-overdrawn")["severity"].to_list() == ["stops release"]


def test_a_lot_number_used_for_a_delivery_and_an_inventory_is_told(received, tmp_path):
    """Counted twice a lot would hold twice as much, and a second emptying would not be seen."""
    opening = OPENING + "C1,bought spirit,spirit,CASK1,2026-01-01 08:00,66.7,20,60,pct_vol_20c,,,,,,AB\n"
    spirit = SPIRIT + "C1,bought spirit,spirit,CASK1,2026-01-02,66.7,,60\n"
    received(_site(_moves(ONE_CASK, ONE_CASK_AGAIN), opening__csv=opening, spirit__csv=spirit))

    assert _flags(tmp_path, "lot-one-origin")["lot"].to_list() == ["C1"]
    assert _standing(tmp_path) == "stopped"


START = OPENING + (
    "TK,new make,spirit,T9,2026-01-01 08:00,1000,20,70,pct_vol_20c,,,,,,AB\n"
    "C1,malt spirit,spirit,CASK1,2026-01-01 08:00,66.7,20,60,pct_vol_20c,,,,,2022-05-01,AB\n"
    "GIN-0,gin,bottled spirit,,2026-01-01 08:00,,,,,,200,500,40,,AB\n"
    "MALT-0,rye malt,malt,,2026-01-01 08:00,,,,,300,,,,,AB\n"
)


def test_an_opening_inventory_of_tank_cask_bottles_and_grain(received, tmp_path):
    """Each has its quantity and its origin; bottles are number times size times label strength: 200 x 0.5 L x 40 %."""
    received(_site(_moves(ONE_CASK), opening__csv=START))

    with open_book(tmp_path / "book") as book:
        lots = book.frame(
            "SELECT lot, origin, basis, quantity_in, material FROM derived.lots WHERE origin = 'opening' ORDER BY lot"
        )
    assert lots["lot"].to_list() == ["C1", "GIN-0", "MALT-0", "TK"]
    assert lots["basis"].to_list() == ["LPA", "LPA", "kg", "LPA"]
    assert lots["quantity_in"].to_list() == pytest.approx([40.02, 40.0, 300.0, 700.0])
    assert _flags(tmp_path, "lot-unknown").is_empty()


def test_the_account_opens_with_the_inventory_to_the_hundredth(received, tmp_path):
    """1000 L at 70 % and a cask of 40.02 LPA: 740.02 LPA, less what is bottled and lost, is the closing stock."""
    received(_site(_moves(ONE_CASK), opening__csv=START))

    with open_book(tmp_path / "book") as book:
        account = gather_account(book, profile_in_force(book), date(2026, 1, 1))
        months = known_months(book)
    total = {name: float(value) for name, value in account.total.items()}
    assert months == [date(2026, 1, 1)]
    assert total["opening"] == 0
    assert total["inventory"] == 740.02
    assert {row["place"]: float(row["inventory"]) for row in account.rows if row["inventory"]} == {
        "T9": 700.0,
        "CASK1": 40.02,
    }
    assert {row["place"]: float(row["closing"]) for row in account.rows}["T9"] == 700.0
    assert total["closing"] == pytest.approx(sum(total[name] for name in COLUMNS[:-1]), abs=1e-9)
    for row in account.rows:
        assert row["closing"] == sum(row[name] for name in COLUMNS[:-1])


def test_an_opening_cask_emptied_twice_stops_release(received, tmp_path):
    """A batch that holds spirit of a cask which was emptied twice cannot go."""
    received(_site(_moves(ONE_CASK, ONE_CASK_AGAIN), opening__csv=START))

    assert _flags(tmp_path, "lot-overdrawn")["lot"].to_list() == ["C1"]
    assert _standing(tmp_path) == "stopped"


def test_traces_reach_the_opening_inventory(received, tmp_path):
    """Backward the batch comes from the cask, told as opening inventory; forward the cask is in its bottles."""
    received(_site(_moves(ONE_CASK), opening__csv=START))

    with open_book(tmp_path / "book") as book:
        line = gather_trace(book, profile_in_force(book), "RYE-1").back_lines()[-1]
        cask = trace(book, "C1")
        found = recall(book, cask)
    assert (line.lot, line.material, line.share) == ("C1", "malt spirit, opening inventory", pytest.approx(1.0))
    assert cask.lot["origin"] == "opening"
    assert found.bottles["batch"].to_list() == ["RYE-1"]


def test_an_untouched_opening_lot_is_accounted_for(received, tmp_path):
    """A tank that nothing was drawn from is left whole, and stands in its vessel."""
    received(_site(_moves(ONE_CASK), opening__csv=START))

    with open_book(tmp_path / "book") as book:
        found = recall(book, trace(book, "TK"))
    assert found.left == pytest.approx(700.0)
    assert found.accounted == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("GIN-0,gin,bottled spirit,,2026-01-01 08:00,,,,,,200,,40,,AB", "bottles-without-size"),
        ("TK,new make,spirit,T9,2026-01-01 08:00,,,70,pct_vol_20c,,,,,,AB", "quantity-not-one"),
        ("TK,new make,spirit,T9,2026-01-01 08:00,10,20,70,pct_vol_20c,9,,,,,AB", "quantity-not-one"),
        ("TK,new make,spirit,T9,2026-01-01 08:00,10,20,170,pct_vol_20c,,,,,,AB", "strength-impossible"),
    ],
)
def test_an_inventory_that_says_too_little_or_too_much_is_refused(received, tmp_path, row, code):
    """A blank is no quantity, two are no one quantity, a strength is on its scale, and bottles have a size."""
    received(_site(_moves(ONE_CASK), opening__csv=OPENING + row + "\n"))

    with open_book(tmp_path / "book") as book:
        assert book.frame("SELECT code FROM typed.refused")["code"].to_list() == [code]


RETURN = RUNS + (
    "BLD-1,blend,T1,RYE,,2026-01-06 08:00,2026-01-06 09:00,AB\n"
    "BOT-1,bottle,B1,RYE,,2026-01-07 08:00,2026-01-07 12:00,AB\n"
    "RET-1,blend,T5,RYE,,2026-01-20 08:00,2026-01-20 12:00,AB\n"
)
BOTTLED = (  # 100 L at 40 % vol became 190 bottles of 500 mL, as the bottling record says
    "BLD-1,in,C1,spirit,,66.7,20,60,pct_vol_20c,,\n"
    "BLD-1,out,L1,liquid,T1,100,20,40,pct_vol_20c,,\n"
    "BOT-1,in,L1,liquid,T1,100,20,40,pct_vol_20c,,\n"
    "BOT-1,out,RYE-1,bottles,,,,,,,\n"
    "RET-1,out,BACK-1,liquid,T5,40,20,40,pct_vol_20c,,\n"
)
COUNTED = "run,dir,lot,part,number,L,tV,S,kind\n"
BOTTLING = "lot,run,product,at,bottles,rejected\nRYE-1,BOT-1,RYE,2026-01-07 12:00,190,0\n"


def _returned(counted: str, moves: str = "", **more: str) -> dict[str, str]:
    """A house that bottled 190 bottles and emptied some of them into a tank again."""
    site = _site(
        MOVES + BOTTLED + moves, spirit__csv=SPIRIT + "C1,bought spirit,spirit,CASK1,2026-01-02,66.7,,60\n", **more
    )
    return site | {
        "runs.csv": RETURN, "bottling.csv": BOTTLING, "fills.csv": "lot,no,ml\n", "counted.csv": COUNTED + counted,
    }  # fmt: skip


def _return_gauge(folder: Path) -> dict:
    with open_book(folder / "book") as book:
        return book.frame("SELECT * FROM derived.gauges WHERE run = 'RET-1' AND direction = 'in'").row(0, named=True)


@pytest.mark.parametrize(
    ("row", "litres"),
    [
        ("80,,,,", 40.0),  # 80 bottles of 500 mL, at the 40 % vol with which their liquid was made
        ("80,39.5,20,,", 39.5),  # gauged in bulk: that goes before the count
        (",39.5,20,39.8,pct_vol_20c", 39.5),
    ],
)
def test_a_return_takes_its_own_count_or_gauge(received, tmp_path, row, litres):
    """Bottles into a run: their number times size, or their gauged bulk; never the 190 of the whole lot."""
    received(_returned(f"RET-1,in,RYE-1,bottles,{row}\n"))

    gauge = _return_gauge(tmp_path)
    assert gauge["volume_l"] == pytest.approx(litres)
    assert gauge["strength_pct_vol"] == pytest.approx(39.8 if "39.8" in row else 40.0)
    assert _lot(tmp_path, "RYE-1")["quantity_in"] == pytest.approx(190 * 0.5 * 0.40)


@pytest.mark.parametrize("part", ["bottles", "packaging", "spirit"])
def test_a_blank_draw_is_refused(received, tmp_path, part):
    """A movement into a run that has neither count nor volume nor mass is no record; it never takes the whole lot."""
    received(_returned(f"RET-1,in,RYE-1,{part},,,,,\n"))

    with open_book(tmp_path / "book") as book:
        assert book.frame("SELECT code FROM typed.refused")["code"].to_list() == ["quantity-missing"]
        assert book.value("SELECT count(*) FROM derived.gauges WHERE run = 'RET-1' AND direction = 'in'") == 0
    assert "RET-1" in _flags(tmp_path, "run-gauged-in")["run"].to_list()


def test_bottles_returned_twice_stop_release(received, tmp_path):
    """120 and 120 of 190 bottles cannot have been emptied: the lot is overdrawn and its batch stopped."""
    runs = RETURN + "RET-2,blend,T5,RYE,,2026-01-21 08:00,2026-01-21 12:00,AB\n"
    rows = "".join(f"RET-{n},in,RYE-1,bottles,120,,,,\n" for n in (1, 2))
    received(_returned(rows) | {"runs.csv": runs})

    assert _flags(tmp_path, "lot-overdrawn")["lot"].to_list() == ["RYE-1"]
    assert _standing(tmp_path) == "stopped"


def test_a_return_in_the_account(received, tmp_path):
    """80 bottles bring 16.00 LPA back; no vessel goes below zero for them, and each row sums to its closing."""
    received(_returned("RET-1,in,RYE-1,bottles,80,,,,\n"))

    with open_book(tmp_path / "book") as book:
        account = gather_account(book, profile_in_force(book), date(2026, 1, 1))
    assert float(account.total["returned"]) == 16.00
    assert float(account.total["bottled"]) == -38.00
    assert all(row["closing"] >= 0 for row in account.rows)
    for row in account.rows:
        assert row["closing"] == sum(row[name] for name in COLUMNS[:-1])


def test_a_recall_counts_returned_bottles_once(received, tmp_path):
    """Of 190 bottles 80 went back: 110 still hold the cask's spirit, the rest stands in the tank."""
    received(_returned("RET-1,in,RYE-1,bottles,80,,,,\n"))

    with open_book(tmp_path / "book") as book:
        found = recall(book, trace(book, "C1"))
    assert found.bottles["bottles"].to_list() == [110]
    assert found.accounted == pytest.approx(1.0)  # what was lost at bottling stands behind what came of it


def test_bottles_of_the_opening_inventory_return_by_count(received, tmp_path):
    """60 of 200 bottles of half a litre, 40 % vol by their label (which may be 0.3 off): 12 LPA, 28 LPA are left."""
    received(_returned("RET-1,in,GIN-0,bottles,60,,,,\n", opening__csv=START))

    gauge, lot = _return_gauge(tmp_path), _lot(tmp_path, "GIN-0")
    assert (gauge["strength_from"], gauge["alcohol_l"]) == ("label", pytest.approx(12.0))
    assert gauge["u_strength_pct_vol"] == pytest.approx(0.3 / 3**0.5)
    assert lot["remaining"] == pytest.approx(28.0)


def test_a_bottle_lot_filled_in_two_movements_is_not_taken_whole_twice(received, tmp_path):
    """Two movements out of one bottling record say how many each filled, or nothing is known of them."""
    second = RETURN + "BOT-2,bottle,B1,RYE,,2026-01-08 08:00,2026-01-08 12:00,AB\n"
    received(_returned("BOT-2,out,RYE-1,bottles,100,,,,\n") | {"runs.csv": second})

    with open_book(tmp_path / "book") as book:
        bottles = book.frame(
            "SELECT pieces, alcohol_l FROM derived.gauges WHERE lot = 'RYE-1' ORDER BY pieces NULLS LAST"
        ).rows()
    assert bottles == [(100.0, pytest.approx(20.0)), (None, None)]


def test_glass_is_judged_where_every_draw_was_counted(received, tmp_path):
    """Of 3000 bottles of glass 3100 cannot be drawn; where draws are weighed or not written down nothing is said."""
    glass = "lot,material,kind,received,pieces\nGL-1,bottle 500 mL,packaging,2026-01-02,3000\n"
    site = _returned("BOT-1,in,GL-1,packaging,3100,,,,\n")
    received(site | {"glass.csv": glass})

    assert _flags(tmp_path, "lot-overdrawn")["lot"].to_list() == ["GL-1"]
