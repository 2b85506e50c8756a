"""Published limits: the values of the articles, and files that cannot be are refused."""

import shutil
from datetime import date

import pytest

from gaugebook.checks.rulebook.published_limits import FOLDER, read_limits
from gaugebook.pipeline.errors import SettingsError

LIMITS = read_limits()


@pytest.mark.parametrize(
    ("category", "least_strength_pct_vol"),
    # Regulation (EU) 2019/787, Annex I: minimum alcoholic strength by volume of each category
    [
        ("rum", 37.5), ("whisky", 40.0), ("grain spirit", 35.0), ("wine spirit", 37.5), ("brandy", 36.0),
        ("grape marc spirit", 37.5), ("fruit marc spirit", 37.5), ("raisin spirit", 37.5), ("fruit spirit", 37.5),
        ("potato spirit", 38.0), ("cider spirit", 37.5), ("beer spirit", 38.0), ("bread spirit", 38.0),
        ("sap spirit birch", 38.0), ("topinambur spirit", 38.0), ("vodka", 37.5),
        ("spirit by maceration and distillation", 37.5), ("geist", 37.5), ("gentian", 37.5),
        ("juniper-flavoured spirit drink", 30.0), ("gin", 37.5), ("distilled gin", 37.5), ("London gin", 37.5),
        ("kuemmel", 30.0), ("akvavit", 37.5), ("aniseed-flavoured spirit drink", 15.0), ("pastis", 40.0),
        ("pastis de Marseille", 45.0), ("anis", 35.0), ("distilled anis", 35.0), ("bitter", 15.0),
        ("flavoured vodka", 37.5), ("pacharan", 25.0), ("liqueur", 15.0), ("crème", 15.0), ("sloe gin", 25.0),
        ("sambuca", 38.0), ("maraschino", 24.0), ("nocino", 30.0), ("egg liqueur", 14.0), ("liqueur with egg", 15.0),
        ("spirit drink with fruit", 15.0),  # Article 2(c): a minimum of 15 % vol
        ("ethyl alcohol of agricultural origin", 96.0),  # Article 5
    ],
)  # fmt: skip
def test_least_strength_of_each_category(category, least_strength_pct_vol):
    """The least strength of a category is that of Annex I (Articles 2 and 5 where it is none of them)."""
    assert LIMITS.category(category, "EU").least_strength_pct_vol == least_strength_pct_vol


@pytest.mark.parametrize(
    ("category", "methanol_g_hl_pa"),
    # Regulation (EU) 2019/787, Annex I: "maximum methanol content", grams per hectolitre of 100 % vol alcohol
    [
        ("wine spirit", 200.0), ("brandy", 200.0), ("grape marc spirit", 1000.0), ("fruit marc spirit", 1500.0),
        ("fruit spirit", 1000.0), ("fruit spirit cherry", 1000.0), ("fruit spirit apple", 1200.0),
        ("fruit spirit apricot", 1200.0), ("fruit spirit plum", 1200.0), ("fruit spirit pear", 1200.0),
        ("fruit spirit raspberry", 1200.0), ("fruit spirit quince", 1350.0), ("fruit spirit williams pear", 1350.0),
        ("fruit spirit juniper berry", 1350.0), ("potato spirit", 1000.0), ("cider spirit", 1000.0),
        ("vodka", 10.0),  # category 15: "shall not exceed 10 grams per hectolitre of 100 % vol. alcohol"
        ("ethyl alcohol of agricultural origin", 30.0),  # Article 5(d)
    ],
)  # fmt: skip
def test_methanol_of_each_category(category, methanol_g_hl_pa):
    """The methanol limit of a category is that of its text."""
    limit = LIMITS.category(category, "EU").laboratory["methanol"]

    assert (limit.most, limit.unit) == (methanol_g_hl_pa, "g/hL pa")


@pytest.mark.parametrize(
    ("analyte", "most"),
    # Article 5(d) as amended by Delegated Regulation (EU) 2022/1303, grams per hectolitre of 100 % vol alcohol
    [("ethyl_acetate", 1.3), ("acetaldehyde", 0.5), ("higher_alcohols", 0.5), ("methanol", 30.0), ("furfural", 0.5)],
)
def test_residues_of_neutral_spirit(analyte, most):
    """The residues of ethyl alcohol of agricultural origin are those of Article 5(d)."""
    assert LIMITS.category("ethyl alcohol of agricultural origin", "EU").laboratory[analyte].most == most


@pytest.mark.parametrize(
    ("category", "least"),
    # Annex I: "quantity of volatile substances equal to or exceeding", grams per hectolitre of 100 % vol alcohol
    [("wine spirit", 125.0), ("brandy", 125.0), ("grape marc spirit", 140.0), ("fruit spirit apple", 200.0)],
)
def test_volatile_substances(category, least):
    """The least of volatile substances is that of Annex I."""
    assert LIMITS.category(category, "EU").laboratory["volatile_substances"].least == least


def test_distillates_stay_below_a_strength():
    """Annex I: fruit spirit less than 86 % vol, whisky less than 94.8 % vol, rum less than 96 % vol; vodka has none."""
    below = {
        name: LIMITS.category(name, "EU").distilled_below_pct_vol
        for name in ("fruit spirit apple", "whisky", "rum", "vodka")
    }

    assert below == {"fruit spirit apple": 86.0, "whisky": 94.8, "rum": 96.0, "vodka": None}


def test_label_tolerance():
    """Regulation (EU) 1169/2011, Annex XII: 0.3 % vol, and 1.5 % vol with macerated fruit or parts of plants."""
    tolerance = LIMITS.tolerance("EU")

    assert (tolerance.spirits_pct_vol, tolerance.macerated_pct_vol) == (0.3, 1.5)


def test_what_was_not_read_is_marked():
    """Sizes of bottles and the repeatability limit are from memory and say so."""
    assert [volumes.confirmed for volumes in LIMITS.nominal_volumes] == [False, False, False]
    assert [method.confirmed for method in LIMITS.methods] == [False]


def test_every_limit_has_its_citation():
    """No category and no method stands without the text it was taken from."""
    cited = [*(c.citation for c in LIMITS.categories), *(m.citation for m in LIMITS.methods)]

    assert all("Regulation" in citation or "Directive" in citation or "CFR" in citation for citation in cited)


def test_an_unknown_category_is_none():
    """A category that is not held, or not for this jurisdiction, has no limits; it is no error."""
    assert LIMITS.category("moonshine", "EU") is None
    assert LIMITS.category("akvavit", "US") is None


@pytest.mark.parametrize(
    ("day", "furfural", "acidity"),
    # Delegated Regulation (EU) 2022/1303, published on 26 July 2022, in force from the twentieth day after
    [(date(2022, 8, 14), 0.0, 1.5), (date(2022, 8, 15), 0.5, None), (None, 0.5, None)],
)
def test_neutral_spirit_by_date(day, furfural, acidity):
    """Before the change furfural was "not detectable" and acidity limited; since, 0.5 g/hl and no limit of acidity."""
    laboratory = LIMITS.category("ethyl alcohol of agricultural origin", "EU", day).laboratory

    assert laboratory["furfural"].most == furfural
    assert (laboratory["total_acidity"].most if "total_acidity" in laboratory else None) == acidity


@pytest.mark.parametrize(
    ("name", "least", "distilled_below", "distilled_least"),
    # 27 CFR 5.142 to 5.147
    [
        ("neutral spirits", 40.0, None, 95.0), ("vodka", 40.0, None, None), ("whisky", 40.0, 95.0, None),
        ("gin", 40.0, None, None), ("brandy", 40.0, 95.0, None), ("rum", 40.0, 95.0, None),
    ],
)  # fmt: skip
def test_classes_of_the_united_states(name, least, distilled_below, distilled_least):
    """Bottled at 40 % vol; distilled below 95 % vol, but neutral spirits at 95 % vol or more."""
    found = LIMITS.category(name, "US")

    assert (found.least_strength_pct_vol, found.distilled_below_pct_vol, found.distilled_least_pct_vol) == (
        least, distilled_below, distilled_least,
    )  # fmt: skip


def test_sizes_of_the_united_states_by_date():
    """T.D. TTB-200 added these sizes of spirits on 10 January 2025 (as its notice lists them); 700 mL was there."""
    before, since = [volumes for volumes in LIMITS.nominal_volumes if volumes.jurisdiction == "US"]
    added = {187, 250, 331, 350, 355, 475, 500, 570, 710, 945, 1500, 2000, 3000, 3750}

    assert before.dates[1] == since.dates[0] == date(2025, 1, 10)
    assert set(since.allowed_ml) - set(before.allowed_ml) == added
    assert 700 in before.allowed_ml


def test_variation_of_fill_in_the_united_states():
    """27 CFR 19.356(b): 1.5 % from 1.0 L, 2.0 % from 376 mL, 3.0 % from 101 mL, 4.5 % below."""
    assert [(item.from_ml, item.most) for item in LIMITS.fill_variations] == [
        (0.0, 0.045), (101.0, 0.03), (376.0, 0.02), (1000.0, 0.015),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('name = "gin"', 'name = "vodka"', 'category "vodka" stands there twice'),
        ("methanol = { most = 10.0, ", "methanol = { ", "vodka: laboratory.methanol gives none of"),
        ("methanol = { most = 10.0, ", "methanol = { most = 10.0, least = 20.0, ", "least 20 is above most 10"),
        ("methanol = { most = 10.0, ", "methanol = { moist = 10.0, ", 'unknown key "moist"'),
        (
            'citation = "Regulation (EU) 2019/787, Annex I, category 15"',
            'citation = ""',
            "vodka: the citation is empty",
        ),
        ('name = "gin"', "name = gin", "cannot be read"),
    ],
)
def test_a_bad_file_is_refused(tmp_path, old, new, message):
    """The sentence names file, category and fault."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "eu_categories.toml"
    file.write_text(file.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")

    with pytest.raises(SettingsError, match=r"limits/eu_categories\.toml:\d+") as caught:
        read_limits(folder)

    assert message in str(caught.value)
