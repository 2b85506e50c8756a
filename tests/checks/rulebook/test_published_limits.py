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
        ("perry spirit", 37.5), ("cider and perry spirit", 37.5), ("honey spirit", 35.0), ("lees spirit", 38.0),
        ("mistrà", 40.0), ("spritglögg", 15.0), ("Berenburg", 30.0), ("honey nectar", 22.0), ("crème de cassis", 15.0),
        ("fruit marc spirit plum", 37.5),
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
        ("perry spirit", 1000.0),
        ("flavoured vodka", 10.0),  # category 31: flavoured vodka is vodka
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


@pytest.mark.parametrize(
    ("category", "least", "most", "below"),
    # Annex I, grams of sweetening products per litre, expressed as invert sugar
    [
        ("cider spirit", None, 15.0, None),  # category 10(f)
        ("perry spirit", None, 15.0, None), ("cider and perry spirit", None, 15.0, None),
        ("honey spirit", None, 20.0, None),  # category 11(f): with honey
        ("lees spirit", None, 20.0, None),  # category 12(f)
        ("pastis de Marseille", None, None, 100.0),  # category 27(a) is a pastis, category 26(d): less than 100
        ("sloe gin", 100.0, None, None),  # category 35(a) is a liqueur, category 33(a)(i): 100 in all other cases
        ("mistrà", None, 0.0, None),  # category 41(a)(iii): not been sweetened
        ("Berenburg", None, 20.0, None),  # category 43(a)(v)
        ("liqueur sour cherry", 70.0, None, None), ("liqueur wormwood", 80.0, None, None),  # category 33(a)(i)
    ],
)  # fmt: skip
def test_sweetening_of_each_category(category, least, most, below):
    """What a category may or must hold of sweetening is that of Annex I."""
    limit = LIMITS.category(category, "EU").laboratory["sweetening"]

    assert (limit.least, limit.most, limit.below, limit.unit) == (least, most, below, "g/L")


@pytest.mark.parametrize(
    ("category", "analyte", "least", "most"),
    # Annex I, grams per litre
    [
        ("pastis de Marseille", "glycyrrhizic_acid", 0.05, 0.5),  # category 26(a)
        ("pastis de Marseille", "anethole", 1.9, 2.1),  # category 27(a)
        ("mistrà", "anethole", 1.0, 2.0),  # category 41(a)(i)
    ],
)
def test_anise_and_liquorice(category, analyte, least, most):
    """Anethole and glycyrrhizic acid of a category are those of Annex I."""
    limit = LIMITS.category(category, "EU").laboratory[analyte]

    assert (limit.least, limit.most, limit.unit) == (least, most, "g/L")


def test_bases_of_ethyl_alcohol_of_agricultural_origin():
    """Annex I: these categories are produced from or by using ethyl alcohol of agricultural origin and nothing else;
    where a distillate or a spirit may stand in its place, Article 5 is not asked."""
    asked = (
        "vodka", "geist", "gin", "distilled gin", "London gin", "Kümmel", "akvavit", "aniseed-flavoured spirit drink",
        "pastis", "pastis de Marseille", "anis", "distilled anis", "flavoured vodka", "pacharán", "sloe gin",
        "spritglögg", "Berenburg",
    )  # fmt: skip
    free = ("liqueur", "bitter", "juniper-flavoured spirit drink", "gentian", "honey nectar", "egg liqueur", "rum")

    assert [name for name in asked if not LIMITS.category(name, "EU").from_neutral_spirit] == []
    assert [name for name in free if LIMITS.category(name, "EU").from_neutral_spirit] == []


def test_mistra_has_a_greatest_strength():
    """Annex I, category 41(b): at least 40 % vol and at most 47 % vol; no other category has a most."""
    assert LIMITS.category("mistrà", "EU").most_strength_pct_vol == 47.0
    assert [c.name for c in LIMITS.categories if c.most_strength_pct_vol is not None] == ["mistrà"]


def test_hydrocyanic_acid_of_stone_fruit():
    """Annex I, categories 7(a)(iv) and 9(a)(iv): at most 7 g/hl of 100 % vol alcohol in the case of stone fruit."""
    stone = ("cherry", "apricot", "plum", "quetsch", "mirabelle", "peach")

    for kind in stone:
        for name in (f"fruit spirit {kind}", f"fruit marc spirit {kind}"):
            assert LIMITS.category(name, "EU").laboratory["hydrocyanic_acid"].most == 7.0
    assert "hydrocyanic_acid" not in LIMITS.category("fruit spirit apple", "EU").laboratory


def test_distillates_stay_below_a_strength():
    """Annex I: fruit spirit less than 86 % vol, whisky less than 94.8 % vol, rum less than 96 % vol; vodka has none."""
    below = {
        name: LIMITS.category(name, "EU").distilled_below_pct_vol
        for name in ("fruit spirit apple", "whisky", "rum", "vodka", "honey spirit", "lees spirit", "perry spirit")
    }

    assert below == {
        "fruit spirit apple": 86.0, "whisky": 94.8, "rum": 96.0, "vodka": None, "honey spirit": 86.0,
        "lees spirit": 86.0, "perry spirit": 86.0,
    }  # fmt: skip


def test_label_tolerance():
    """Regulation (EU) 1169/2011, Annex XII: 0.3 % vol, and 1.5 % vol with macerated fruit or parts of plants."""
    tolerance = LIMITS.tolerance("EU")

    assert (tolerance.spirits_pct_vol, tolerance.macerated_pct_vol) == (0.3, 1.5)


def test_what_was_not_read_is_marked():
    """The repeatability limit and three residues of the repealed Article 5 are from memory and say so."""
    unread = {
        (category.name, analyte)
        for category in LIMITS.categories for analyte, limit in category.laboratory.items() if not limit.confirmed
    }  # fmt: skip

    assert [method.confirmed for method in LIMITS.methods] == [False]
    assert unread == {
        ("ethyl alcohol of agricultural origin", analyte)
        for analyte in ("total_acidity", "dry_extract", "nitrogenous_bases")
    }


def test_a_most_from_memory_is_no_legal_most():
    """In the tables for SQL a most that was not read in the text stands apart, where no rule that stops looks."""
    analytes = LIMITS.frames()["limit_analytes"].filter(analyte="nitrogenous_bases")

    assert analytes.select("most", "most_from_memory").rows() == [(None, 0.1)]


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
    # 27 CFR 5.142 to 5.151
    [
        ("neutral spirits", 40.0, None, 95.0), ("vodka", 40.0, None, None), ("whisky", 40.0, 95.0, None),
        ("gin", 40.0, None, None), ("brandy", 40.0, 95.0, None), ("rum", 40.0, 95.0, None),
        ("grain spirits", 40.0, None, 95.0), ("blended applejack", 40.0, None, None),
        ("agave spirits", 40.0, None, None), ("flavored vodka", 30.0, None, None), ("flavored rum", 30.0, None, None),
        ("liqueur", 0.5, None, None), ("liqueur bourbon", 30.0, None, None), ("rock and rye", 24.0, None, None),
    ],
)  # fmt: skip
def test_classes_of_the_united_states(name, least, distilled_below, distilled_least):
    """Bottled at 40 % vol, flavored spirits at 60 proof; distilled below 95 % vol, neutral spirits at 95 or more."""
    found = LIMITS.category(name, "US")

    assert (found.least_strength_pct_vol, found.distilled_below_pct_vol, found.distilled_least_pct_vol) == (
        least, distilled_below, distilled_least,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "most_proof", "above_proof", "grain"),
    # 27 CFR 5.143(c) and 5.145(c): at most 160 proof of 51 % of the grain, corn whisky of 80 %; light whisky above 160,
    # neutral brandy above 170 proof; T.D. TTB-199: at most 160 proof of malted barley alone
    [
        ("bourbon whisky", 160.0, None, {"corn": 0.51}), ("rye whisky", 160.0, None, {"rye": 0.51}),
        ("wheat whisky", 160.0, None, {"wheat": 0.51}), ("malt whisky", 160.0, None, {"malted barley": 0.51}),
        ("rye malt whisky", 160.0, None, {"malted rye": 0.51}), ("corn whisky", 160.0, None, {"corn": 0.80}),
        ("straight bourbon whisky", 160.0, None, {"corn": 0.51}),
        ("straight corn whisky", 160.0, None, {"corn": 0.80}), ("light whisky", None, 160.0, {}),
        ("neutral brandy", None, 170.0, {}), ("American single malt whisky", 160.0, None, {"malted barley": 1.0}),
        ("whisky distilled from bourbon mash", None, None, {"corn": 0.51}),
    ],
)  # fmt: skip
def test_types_of_the_united_states(name, most_proof, above_proof, grain):
    """Proof of distillation, half of which is % vol, and the least share of the grain."""
    found = LIMITS.category(name, "US")
    given = (found.distilled_most_pct_vol, found.distilled_above_pct_vol)

    assert [bound and 2 * bound for bound in given] == [most_proof, above_proof]
    assert found.grain_least == grain


def test_american_single_malt_came_into_force():
    """T.D. TTB-199: effective January 19, 2025."""
    name = "straight American single malt whiskey"

    assert LIMITS.category(name, "US", date(2025, 1, 18)) is None
    assert LIMITS.category(name, "US", date(2025, 1, 19)).name == "straight American single malt whisky"


def test_liqueurs_of_the_united_states_hold_sugar():
    """27 CFR 5.150(a): not less than 2.5 percent by weight of the finished product; each type of the class too."""
    types = ("liqueur", "cordial", "sloe gin", "rye liqueur", "rock and rum")

    assert {LIMITS.category(name, "US").sugar_least_pct_mass for name in types} == {2.5}
    assert LIMITS.category("flavored gin", "US").sugar_least_pct_mass is None


@pytest.mark.parametrize(
    ("jurisdiction", "name", "category"),
    [
        ("EU", "whiskey", "whisky"), ("EU", "WHISKY", "whisky"),  # Annex I, category 2
        ("EU", "aquavit", "akvavit"), ("EU", "Akvavit", "akvavit"),  # category 24
        ("EU", "Kirsch", "fruit spirit cherry"), ("EU", "slivovitz", "fruit spirit plum"),  # category 9(i)
        ("EU", "Obstler", "fruit spirit"), ("EU", "Weinbrand", "brandy"), ("EU", "Hefebrand", "lees spirit"),
        ("EU", "Kümmel", "kuemmel"), ("EU", "pacharán", "pacharan"), ("EU", "CREME", "crème"),
        ("EU", "mistra", "mistrà"), ("EU", "Väkevä Glögi", "spritglögg"), ("EU", "beerenburg", "Berenburg"),
        ("EU", "mead nectar", "honey nectar"), ("EU", "Advocaat", "egg liqueur"), ("EU", "london gin", "London gin"),
        ("EU", "aniseed flavoured spirit drink", "aniseed-flavoured spirit drink"),
        ("US", "Straight Bourbon Whiskey", "straight bourbon whisky"), ("US", "Bourbon", "bourbon whisky"),
        ("US", "applejack", "apple brandy"), ("US", "Cordial", "liqueur"), ("US", "akvavit", None),
        ("US", "Weinbrand", None), ("EU", "bourbon", None),
    ],
)  # fmt: skip
def test_a_category_is_found_by_each_of_its_names(jurisdiction, name, category):
    """The texts' own names and spellings find the category, and one jurisdiction's names say nothing in another."""
    assert LIMITS.category_name(name, jurisdiction) == category


def test_other_names_are_of_one_category(tmp_path):
    """A name that would stand for two categories, or for one that is not held, is refused with file and line."""
    for old, new, said in (
        ('"Weinbrand"', '"Weinbrand", "Vodka"', r'names\.toml:\d+: brandy: "Vodka" stands for "vodka" too'),
        ('category = "brandy"', 'category = "brandi"', r'names\.toml:\d+: brandi: no category "brandi" is held for EU'),
    ):
        folder = tmp_path / said[-6:].strip()
        shutil.copytree(FOLDER, folder)
        file = folder / "names.toml"
        file.write_text(file.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")

        with pytest.raises(SettingsError, match=said):
            read_limits(folder)


def test_sizes_of_the_united_states_by_date():
    """85 FR 85514 added four sizes of spirits on 29 December 2020, T.D. TTB-200 these on 10 January 2025; 750 mL was
    always there and 500 mL came last."""
    first, second, third = [volumes for volumes in LIMITS.nominal_volumes if volumes.jurisdiction == "US"]
    added = {187, 250, 331, 350, 355, 475, 500, 570, 710, 945, 1500, 2000, 3000, 3750}

    assert first.dates[1] == second.dates[0] == date(2020, 12, 29)
    assert second.dates[1] == third.dates[0] == date(2025, 1, 10)
    assert set(first.allowed_ml) == {50, 100, 200, 375, 750, 1000, 1750}
    assert set(second.allowed_ml) - set(first.allowed_ml) == {700, 720, 900, 1800}
    assert set(third.allowed_ml) - set(second.allowed_ml) == added
    assert [volumes.confirmed for volumes in (first, second, third)] == [True, True, False]
    assert set(first.allowed_ml) < set(second.allowed_ml) < set(third.allowed_ml)


def test_sizes_of_the_european_union():
    """Directive 2007/45/EC: nine sizes of spirits, binding from 100 to 2000 mL."""
    sizes = next(volumes for volumes in LIMITS.nominal_volumes if volumes.jurisdiction == "EU")

    assert sizes.allowed_ml == (100, 200, 350, 500, 700, 1000, 1500, 1750, 2000)
    assert (sizes.from_ml, sizes.to_ml) == (100, 2000)
    assert not sizes.confirmed  # the Directive's own page was not seen


def test_variation_of_fill_in_the_united_states():
    """27 CFR 19.356(b): 1.5 % from 1.0 L, 2.0 % from 376 mL, 3.0 % from 101 mL, 4.5 % below."""
    assert [(item.from_ml, item.most) for item in LIMITS.fill_variations] == [
        (0.0, 0.045), (101.0, 0.03), (376.0, 0.02), (1000.0, 0.015),
    ]  # fmt: skip
    sizes = {1000.0: 0.015, 999.0: 0.02, 376.0: 0.02, 375.0: 0.03, 50.0: 0.045}
    assert {size: LIMITS.variation("US", size).most for size in sizes} == sizes
    assert LIMITS.variation("EU", 1000.0) is None


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
