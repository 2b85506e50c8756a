"""What someone finds in the files with a pencil: for each kind of fault the records on which it stands.

Only so that `verify` can say that what was planted is there to be seen, and that nothing of its kind is there besides.
"""

from collections import Counter, defaultdict
from datetime import datetime

from . import house
from .ledger import age
from .measure import ethanol_by_volume, ethanol_by_weight, u_of_volume, u_of_weighed
from .readback import Files, moment, number


class Pencil:
    def __init__(self, files: Files) -> None:
        self.files = files
        self.log = sorted(files.of("casklog"), key=lambda row: _when(row))
        self.opening = {row["Cask No"]: row for row in files.of("casks_2025")}
        self.register = {row["Cask No"]: row for row in files.of("cooperage")}
        self.runs = {row["Run No"]: row for row in files.of("runs")}
        self.gauges = files.of("gauges")
        self.bottling = {row["Batch"]: row for row in files.of("bottling")}
        self.by_cask: dict[str, list[dict]] = defaultdict(list)
        for row in self.log:
            self.by_cask[row["Cask No"]].append(row)

    def found(self) -> dict[str, set[str]]:
        """Records by the name of the fault."""
        return {name[3:].replace("_", "-"): set(getattr(self, name)()) for name in dir(self) if name.startswith("is_")}

    # casks

    def _cask_rows(self, *actions: str):
        return ((cask, row) for cask, rows in self.by_cask.items() for row in rows if row["Action"] in actions)

    def _emptied(self, cask: str) -> datetime | None:
        days = [_when(row) for row in self.by_cask[cask] if row["Action"] in ("DUMP", "XFER")]
        return days[0] if days else None

    def is_dumped_twice(self):
        dumps = Counter(cask for cask, _ in self._cask_rows("DUMP"))
        return [cask for cask, count in dumps.items() if count > 1]

    def is_filled_while_full(self):
        fills = Counter([*(cask for cask, _ in self._cask_rows("FILL")), *self.opening])
        return [cask for cask, count in fills.items() if count > 1]

    def is_gross_below_tare(self):
        return [cask for cask, row in self._cask_rows("FILL", "REGAUGE", "DUMP")
                if row["Gross Lb"] and number(row["Gross Lb"]) < number(row["Tare Lb"])]  # fmt: skip

    def is_proof_out_of_range(self):
        return [cask for cask, row in self._cask_rows("FILL", "REGAUGE", "DUMP", "TOP") if number(row["Proof"]) > 200.0]

    def is_duplicate_regauge(self):
        rows = Counter(tuple(row.values()) for _, row in self._cask_rows("REGAUGE"))
        return [row[2] for row, count in rows.items() if count > 1]

    def is_tare_contradicts(self):
        tares = {cask: number(row["Tare Lb"]) for cask, row in self.register.items()}
        return [cask for cask, row in self._cask_rows("FILL", "REGAUGE", "DUMP")
                if cask in tares and number(row["Tare Lb"]) != tares[cask]]  # fmt: skip

    def is_sample_of_dumped(self):
        return self._after_the_end("SAMPLE")

    def is_regauge_after_dump(self):
        return self._after_the_end("REGAUGE")

    def _after_the_end(self, action: str):
        return [
            cask for cask, row in self._cask_rows(action) if self._emptied(cask) and _when(row) > self._emptied(cask)
        ]

    def is_leak_no_reason(self):
        return [cask for cask, row in self._cask_rows("LEAK") if not row["Reason"]]

    def is_leak_not_gauged(self):
        later = dict(self._cask_rows("REGAUGE", "DUMP"))
        return [cask for cask, row in self._cask_rows("LEAK") if cask not in later or _when(later[cask]) < _when(row)]

    def is_fill_date_missing(self):
        dates = self._filled()
        return {batch for batch, casks in self._casks_of_batches().items() if any(c not in dates for c in casks)}

    def _ethanol(self, row: dict) -> tuple[float, float] | None:
        if row["Gross Lb"] and row["Proof"]:
            strength = {"Proof": row["Proof"], "Proof Type": row["Proof By"], "Proof Temp F": row["Temp F"]}
            net = number(row["Gross Lb"]) - number(row["Tare Lb"])
            if net <= 0.0 or number(row["Proof"]) > 200.0:
                return None
            return ethanol_by_weight(net, strength), u_of_weighed(net, strength)
        if row["Action"] == "FILL" and row["Gal"]:
            cells = {"Proof": row["Proof"], "Gal": number(row["Gal"]), "Gal Temp F": number(row["Gal Temp F"])}
            value = ethanol_by_volume(cells, "Gal", "Gal Temp F")
            return value, u_of_volume(cells, temp="Gal Temp F")
        return None

    def _steps(self):
        """Each cask's gauges in pairs: from, to, years between, ethanol and uncertainties; toppings break the row."""
        gave = defaultdict(list)
        for _, row in self._cask_rows("TOP"):
            gave[row["Other Cask"]].append(_when(row))
        for cask, rows in self.by_cask.items():
            before = None
            first = self.opening.get(cask)
            if first and first["Gross Lb"]:
                proof = {"Proof": first["Proof"]}
                net = number(first["Gross Lb"]) - number(first["Orig Tare Lb"])
                before = (moment(first["Regauged"]), ethanol_by_weight(net, proof), u_of_weighed(net, proof))
            for row in rows:
                if row["Action"] in ("TOP", "XFER", "DUMP"):
                    before = None
                value = self._ethanol(row) if row["Action"] in ("FILL", "REGAUGE") else None
                if value:
                    if before and not any(before[0] < day < _when(row) for day in gave[cask]):
                        years = (_when(row) - before[0]).total_seconds() / (365.25 * 86400.0)
                        yield cask, years, before[1:], value
                    before = (_when(row), *value)

    def is_regauge_above_fill(self):
        return [cask for cask, _, (was, u_was), (now, u_now) in self._steps()
                if now - was > 3.0 * (u_was**2 + u_now**2) ** 0.5 and now < 1.6 * was]  # fmt: skip

    def is_pounds_as_kg(self):
        return [cask for cask, _, (was, _), (now, _) in self._steps() if now < 0.6 * was]

    def is_leak_at_regauge(self):
        """Loss of more than 10 % a year and clear of the uncertainty, without a leak on record."""
        told = {cask for cask, _ in self._cask_rows("LEAK")}
        return [cask for cask, years, (was, u_was), (now, u_now) in self._steps()
                if cask not in told and 0.6 * was < now and was - now > (1.0 - 0.9**years) * was + 4.0 * (u_was + u_now)
                ]  # fmt: skip

    # age, wood, mash bill

    def _filled(self) -> dict[str, datetime]:
        dates = {cask: moment(row["Fill Date"]) for cask, row in self.opening.items() if row["Fill Date"]}
        for row in self.log:
            if row["Action"] == "FILL":
                dates.setdefault(row["Cask No"], _when(row))
            elif row["Action"] == "XFER":
                dates[row["Other Cask"]] = dates[row["Cask No"]]
        return dates

    def _youngest(self) -> dict[str, datetime]:
        dates = self._filled()
        for row in self.log:
            if row["Action"] == "TOP":
                dates[row["Cask No"]] = max(dates[row["Cask No"]], dates[row["Other Cask"]])
        return dates

    def _casks_of_batches(self) -> dict[str, dict[str, datetime]]:
        """Casks of each bottled batch, and when they were dumped: by the lots that went into its runs."""
        into, out = defaultdict(set), {}
        for row in self.gauges:
            if row["I/O"] == "I":
                into[row["Run No"]].add(row["Lot No"])
            else:
                out[row["Lot No"]] = row["Run No"]
        casks = defaultdict(dict)
        for cask, row in self._cask_rows("DUMP"):
            casks[row["Lot No"]][cask] = _when(row)
        batches = {}
        for batch, row in self.bottling.items():
            lots, seen = [row["Run No"]], {}
            while lots:
                for lot in into[lots.pop()]:
                    seen |= casks.get(lot, {})
                    if lot in out and not lot.startswith(("NM", "EN")):
                        lots.append(out[lot])
            batches[batch] = seen
        return batches

    def _too_young(self) -> dict[str, set[str]]:
        """Casks of batches that are younger than the label."""
        dates, young = self._youngest(), defaultdict(set)
        for batch, casks in self._casks_of_batches().items():
            label = self.bottling[batch]["Label Age"]
            for cask, dumped in casks.items():
                if label and cask in dates and age(dates[cask].date(), dumped.date())[0] < int(label.split()[0]):
                    young[batch].add(cask)
        return young

    def _topped(self) -> set[str]:
        return {cask for cask, _ in self._cask_rows("TOP")}

    def is_age_statement(self):
        return [batch for batch, casks in self._too_young().items() if casks - self._topped() and batch[:3] != "VRB"]

    def is_topping_younger(self):
        return [batch for batch, casks in self._too_young().items() if casks & self._topped()]

    def is_bond_too_young(self):
        return [batch for batch, casks in self._too_young().items() if batch[:3] == "VRB"]

    def is_bond_two_seasons(self):
        dates = self._filled()
        seasons = {batch: {(dates[c].year, dates[c].month > 6) for c in casks if c in dates}
                   for batch, casks in self._casks_of_batches().items()}  # fmt: skip
        return [batch for batch, found in seasons.items() if batch[:3] == "VRB" and len(found) > 1]

    def is_bond_99_proof(self):
        return [batch for batch, row in self.bottling.items() if batch[:3] == "VRB" and row["Label Proof"] != 100]

    def is_bourbon_used_cask(self):
        return [batch for batch, casks in self._casks_of_batches().items() if batch[:3] in ("VSB", "VSC", "VYB")
                and any(self.register[cask]["Former Contents"] != "NEW" for cask in casks)]  # fmt: skip

    def is_entry_proof(self):
        fills = {run: row["Recipe"] for run, row in self.runs.items() if row["Step"] == "FILL"}
        return [cask for cask, row in self._cask_rows("FILL")
                if house.SPIRIT[fills[row["Run No"]]] != "rum" and number(row["Proof"]) > 125.0]  # fmt: skip

    def is_mash_bill(self):
        """Batches whose casks were filled from mashes of less than 51 % corn (of bourbon)."""
        weights: dict[str, Counter] = defaultdict(Counter)
        for row in self.gauges:
            if row["Run No"].startswith("M-") and row["Net Lb"]:
                weights[row["Run No"]][row["What"]] += number(row["Net Lb"])
        poor = {run for run, bill in weights.items() if self.runs[run]["Recipe"] in ("BRB", "WHB")
                and bill["corn"] < 0.51 * bill.total()}  # fmt: skip
        tainted, runs = set(poor), sorted(self.gauges, key=lambda row: (row["Date/Time"], row["I/O"]))
        lots: set[str] = set()
        for row in runs:
            if row["I/O"] == "I" and row["Lot No"] in lots and not row["Run No"].startswith("D-"):
                tainted.add(row["Run No"])
            if row["I/O"] == "I" and row["Lot No"] in lots and row["Lot No"].startswith("LW-"):
                tainted.add(row["Run No"])
            if row["I/O"] == "O" and row["Run No"] in tainted:
                lots.add(row["Lot No"])
        casks = {cask for cask, row in self._cask_rows("FILL") if row["Lot No"] in lots}
        return [batch for batch, held in self._casks_of_batches().items() if casks & set(held)]

    # finished goods, laboratory, logs

    def is_ethyl_carbamate(self):
        lots = {row["Lot/Batch"] for row in self.files.of("gc")
                if (number(row["ethyl carbamate ug/kg"]) or 0.0) > house.EC_TARGET_UG_KG}  # fmt: skip
        runs = {row["Run No"] for row in self.gauges if row["Lot No"] in lots and row["I/O"] == "I"}
        return [batch for batch, row in self.bottling.items() if row["Run No"] in runs]

    def is_short_fill(self):
        fills = defaultdict(list)
        for row in self.files.of("fillcheck"):
            fills[row["Batch"]].append(number(row["Net mL @60F"]))
        return [b for b, values in fills.items() if sum(values) / len(values) < self.bottling[b]["Size mL"]]

    def is_dispatch_no_document(self):
        return [row["Batch"] for row in self.files.of("shipping") if not row["Doc No"]]

    def is_document_used_twice(self):
        first: dict[str, dict] = {}
        twice = []
        for row in sorted(self.files.of("shipping"), key=lambda row: moment(row["Ship Date"])):
            other = first.setdefault(row["Doc No"], row)
            if row["Doc No"] and row["Ship Date"][:9] != other["Ship Date"][:9]:
                twice.append(row["Batch"] if row["Batch"] else row["Doc No"])
        return twice

    def is_return_unknown_document(self):
        documents = {row["Doc No"] for row in self.files.of("shipping")}
        return [row["Batch"] for row in self.files.of("returns") if row["Orig Doc No"] not in documents]

    def _bottle_rows(self):
        """Batch, when, change of its bottles; a count as (batch, when, None, counted)."""
        for row in self.files.of("opening_cased"):
            yield row["Batch"], datetime(2025, 1, 1), row["Bottles"]
        for row in self.bottling.values():
            yield row["Batch"], row["Date"], row["Bottles Filled"] - row["Breakage"]
        for kind, day, sign in (("returns", "Return Date", 1), ("samples", "Date", -1), ("destructions", "When", -1)):
            for row in self.files.of(kind):
                count = row.get("Bottles") or row.get("Qty")
                if count:
                    yield row.get("Batch") or row.get("Batch/Lot") or row["Batch/Lot/Cask"], row[day], sign * count
        for row in self.files.of("shipping"):
            if row["Bottles"]:
                yield row["Batch"], moment(row["Ship Date"]), -number(row["Bottles"])

    def is_dispatch_over_stock(self):
        left, below = Counter(), set()
        for batch, _, change in sorted(self._bottle_rows(), key=lambda item: item[1]):
            left[batch] += change
            if left[batch] < 0:
                below.add(batch)
        return below

    def is_bottles_unaccounted(self):
        over, bottles = self.is_dispatch_over_stock(), list(self._bottle_rows())
        short = set()
        for row in self.files.of("counts"):
            if row["Type"] == "CASED" and row["Item"] not in over:
                day = moment(row["Counted"])
                book = sum(change for batch, when, change in bottles if batch == row["Item"] and when <= day)
                if book != number(row["Bottles"]):
                    short.add(row["Item"])
        return short

    def is_count_unsigned(self):
        days = {moment(r["Counted"]) for r in self.files.of("counts") if not r["Counted By"]}
        return [f"inventory of tanks, {day:%Y-%m-%d}" for day in days]

    def is_count_of_dumped(self):
        return [row["Item"] for row in self.files.of("counts") if row["Type"] == "CASK" and self._emptied(row["Item"])
                and moment(row["Counted"]) > self._emptied(row["Item"])]  # fmt: skip

    def is_destruction_no_witness(self):
        return [row["Batch/Lot/Cask"] for row in self.files.of("destructions") if not row["Witness"]]

    def is_log_unreadable(self):
        texts = {value for kind in ("potstill", "column") for row in self.files.of(kind) for name, value in row.items()
                 if name not in ("Date Time", "Run") and value and number(value) is None}  # fmt: skip
        return ["still logs"] if texts else []


def _when(row: dict) -> datetime:
    return moment(f"{row['Date']} {row['Time']}")
