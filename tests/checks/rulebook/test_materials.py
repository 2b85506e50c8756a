"""Grains and allergens by the names of materials."""

import shutil

import pytest

from gaugebook.checks.rulebook.materials import material_frames, read_allergens, read_grains
from gaugebook.checks.rulebook.published_limits import FOLDER, read_limits
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.products import ALLERGENS


@pytest.mark.parametrize(
    ("allergen", "exempt"),
    # Regulation (EU) 1169/2011, Annex II: 1(d) cereals, 7(a) whey and 8 nuts "used for making alcoholic distillates
    # including ethyl alcohol of agricultural origin"; the other items have no such exemption
    [
        ("gluten", {True}), ("milk", {True, False}), ("nuts", {True}), ("eggs", {False}), ("celery", {False}),
        ("mustard", {False}), ("sesame", {False}), ("lupin", {False}), ("soybeans", {False}), ("peanuts", {False}),
        ("fish", {False}), ("sulphites", {False}),
    ],
)  # fmt: skip
def test_exemptions_of_distillates(allergen, exempt):
    """Cereals, whey and nuts that are distilled are exempt; milk itself is not."""
    assert {item.distillates_exempt for item in read_allergens() if item.allergen == allergen} == exempt


def test_the_fourteen_of_annex_ii():
    """Regulation (EU) 1169/2011, Annex II has fourteen items, and each of ours is one of them with its item cited."""
    assert len(ALLERGENS) == len(set(ALLERGENS)) == 14
    for item in read_allergens():
        assert item.citation.startswith(f"Regulation (EU) 1169/2011, Annex II, {ALLERGENS.index(item.allergen) + 1}")


def test_no_final_rule_of_the_united_states():
    """Notice No. 238 proposes one and no final rule was seen, so nothing is asked of labels there."""
    assert {item.jurisdiction for item in read_allergens()} == {"EU"}


def test_sulphites_count_above_an_amount():
    """Annex II, 12: at concentrations of more than 10 mg/kg or 10 mg/litre."""
    assert {item.allergen for item in read_allergens() if item.by_amount} == {"sulphites"}


def test_every_grain_asked_for_has_its_names():
    """Each grain that a type asks of its mash stands in the list of grains."""
    asked = {grain for category in read_limits().categories for grain in category.grain_least}

    assert asked <= {grain.grain for grain in read_grains()}


def test_names_are_words():
    """For SQL a name is the list of its words, without capitals and accents."""
    frame = material_frames()["limit_grains"].filter(grain="malted rye")

    assert frame["words"].to_list() == [["rye", "malt"], ["malted", "rye"]]


def test_an_allergen_that_is_none_is_refused(tmp_path):
    """The sentence names file, line and what may be."""
    folder = tmp_path / "limits"
    shutil.copytree(FOLDER, folder)
    file = folder / "allergens.toml"
    text = file.read_text(encoding="utf-8").replace('allergen = "celery"', 'allergen = "selery"', 1)
    file.write_text(text, encoding="utf-8")

    with pytest.raises(SettingsError, match=r'allergens\.toml:\d+: selery: "selery" is none of gluten'):
        read_allergens(folder)
