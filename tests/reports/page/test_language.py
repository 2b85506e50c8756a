"""The catalogues: the same keys and places in every language, and nothing of ours left in another."""

import dataclasses
import re
from datetime import datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from demo_book import EMPTY, GIN, VODKA, demo_house, write_demo_book
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import LANGUAGES, Documents, parse_house
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier import dossier_document, dossier_html
from gaugebook.reports.dossier.records import Batch
from gaugebook.reports.page.language import Language, language
from gaugebook.reports.page.wording import listed

ENGLISH, GERMAN = language("en"), language("de")
FORMS = ("zero", "one", "two", "few", "many", "other")  # of CLDR
# Common English words that no German sentence has.
TELLING = {"the", "of", "and", "is", "are", "with", "that", "which", "not", "for", "from", "by", "to", "its", "no"}


@pytest.fixture(scope="module")
def batches(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Batch]:
    """The demo's batches, to be told in German."""
    house = dataclasses.replace(demo_house(), documents=Documents(language="de"))
    with open_book(write_demo_book(tmp_path_factory.mktemp("book"))) as book:
        return {code: gather_batch(book, house, code) for code in (VODKA, GIN, EMPTY)}


@pytest.fixture(scope="module")
def letter(batches: dict[str, Batch], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A German dossier on Letter."""
    house = dataclasses.replace(batches[GIN].house, documents=Documents("letter", "de"))
    path = tmp_path_factory.mktemp("out") / "letter.pdf"
    path.write_bytes(dossier_document(dataclasses.replace(batches[GIN], house=house)).content)
    return path


class Visible(HTMLParser):
    """The text of a page outside what is marked as English and outside its head; heads of sections by level."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.levels: list[int] = []
        self._open: list[bool] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if tag in ("meta", "col", "br", "wbr", "path", "rect", "circle", "line"):
            return
        self._open.append(("lang", "en") in attributes or tag == "style")
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))

    def handle_endtag(self, tag: str) -> None:
        if tag not in ("path", "rect", "circle", "line") and self._open:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if not any(self._open):
            self.text.append(data)


def texts_of(value: Any) -> set[str]:
    """Every text of the book behind a batch: its own words, in whatever language."""
    if isinstance(value, str):
        return {value}
    if dataclasses.is_dataclass(value):
        return set().union(*(texts_of(getattr(value, field.name)) for field in dataclasses.fields(value)))
    if isinstance(value, dict):
        return set().union(*map(texts_of, value.values()), *map(texts_of, value))
    if isinstance(value, tuple):
        return set().union(*map(texts_of, value))
    return set()


def plural_texts(speaks: Language) -> dict[str, set[str]]:
    """Texts that depend on a number: their key, and the forms that the catalogue has of each."""
    keys = {key.rsplit(".", 1)[0] for key in speaks.texts if key.endswith((".few", ".many", ".other"))}
    return {key: {form for form in FORMS if f"{key}.{form}" in speaks.texts} for key in keys}


def singular_keys(speaks: Language) -> set[str]:
    """Keys of all texts, of those that depend on a number the key without its form."""
    forms = {f"{key}.{form}": key for key, known in plural_texts(speaks).items() for form in (*known, "none")}
    return {forms.get(key, key) for key in speaks.texts}


@pytest.mark.parametrize("code", LANGUAGES)
def test_catalogues_have_the_same_keys_and_places(code):
    """A text stands in all languages under one key, with the same values put in, and none is blank by mistake."""
    texts = language(code).texts
    assert singular_keys(language(code)) == singular_keys(ENGLISH)
    for key in texts.keys() & ENGLISH.texts.keys():
        text = ENGLISH.texts[key]
        assert set(re.findall(r"\{(\w+)\}", texts[key])) == set(re.findall(r"\{(\w+)\}", text)), key
        assert bool(texts[key]) == bool(text) or key == "flags.in_english", key


@pytest.mark.parametrize("code", LANGUAGES)
def test_catalogues_have_the_plural_forms_of_their_language(code):
    """Every text that depends on a number has each form that CLDR knows of its language, and no other."""
    speaks = language(code)
    texts = plural_texts(speaks)
    assert len(texts) > 25
    assert set(map(frozenset, texts.values())) == {speaks.locale.plural_form.tags | {"other"}}


@pytest.mark.parametrize(
    ("n", "said"), [(0, "0 butelek"), (1, "1 butelka"), (2, "2 butelki"), (5, "5 butelek"), (22, "22 butelki")]
)
def test_a_language_may_have_more_forms(n, said):
    """Polish has one, few and many (Unicode CLDR, Language Plural Rules, pl); the catalogue needs nothing but texts."""
    forms = {"one": "{n} butelka", "few": "{n} butelki", "many": "{n} butelek", "other": "{n} butelki"}
    texts = {"format.locale": "pl", "format.thousands": " "} | {f"count.{form}": text for form, text in forms.items()}
    assert Language("pl", texts).say("count", n=n) == said


def test_a_count_without_its_number_is_a_fault():
    """No form is guessed."""
    with pytest.raises(KeyError, match="n"):
        ENGLISH.say("runs.count")


@pytest.mark.parametrize(
    ("items", "english", "german"),
    [
        ([], "", ""),
        (["A"], "A", "A"),
        (["A", "B"], "A and B", "A und B"),
        (["A", "B", "C"], "A, B and C", "A, B und C"),
    ],
)
def test_lists_are_the_languages(items, english, german):
    """No comma stands before the last of a list; the board and the trends say lists as the dossier does."""
    assert (ENGLISH.listed(items), GERMAN.listed(items), listed(items)) == (english, german, english)


def test_every_text_that_is_asked_for_by_name_exists():
    """A key in a template or module that no catalogue has would stop a document."""
    root = Path(__file__).parents[3] / "gaugebook" / "reports"
    sources = [*root.rglob("*.py"), *root.rglob("*.jinja")]
    asked = {
        key for source in sources for key in re.findall(r'\bsay\(\s*"([\w.]+)"[,)]', source.read_text(encoding="utf-8"))
    }
    known = ENGLISH.texts.keys() | {key.rsplit(".", 1)[0] for key in ENGLISH.texts if key.endswith(".other")}
    assert len(asked) > 100
    assert asked <= known


@pytest.mark.parametrize("code", [VODKA, GIN, EMPTY])
def test_no_english_is_left_in_german_pages(batches, code):
    """Outside the passages marked as English and the book's own texts, no English word stands on a German page."""
    page = Visible()
    page.feed(dossier_html(batches[code]))
    said = " ".join(page.text)
    for own in sorted(texts_of(batches[code]), key=len, reverse=True):
        said = said.replace(own, " ") if len(own) > 2 else said
    assert "Freigabedossier" in said
    assert TELLING & set(re.findall(r"[a-zäöüß]+", said.lower())) == set()
    for key, text in ENGLISH.texts.items():
        if "{" not in text and len(text.split()) > 2 and text != GERMAN.texts[key]:
            assert text not in said, key


def test_numbers_and_dates_are_the_languages(batches):
    """German has a decimal comma, a narrow space between thousands and its own order of a date."""
    assert GERMAN.stated(2851.2, 2.9, "LPA") == "2\u202f851,2 ± 5,8 LPA"
    assert GERMAN.percent(0.9531, 0.0021) == "95,31 ± 0,42 %"
    assert GERMAN.plain(1200.0) == "1\u202f200"
    assert ENGLISH.stated(2851.2, 2.9, "LPA") == "2,851.2 ± 5.8 LPA"
    at = datetime(2031, 7, 2, 22, 30)  # UTC; the next day in Copenhagen
    assert GERMAN.moment(at, "Europe/Copenhagen") == "03.07.2031 00:30"
    assert ENGLISH.moment(at, "Europe/Copenhagen") == "2031-07-03 00:30"
    assert (GERMAN.day(at, "UTC"), ENGLISH.day(at, "UTC"), ENGLISH.day(None, "UTC")) == (
        "02.07.2031",
        "2031-07-02",
        "–",
    )
    page = dossier_html(batches[VODKA])
    assert "2\u202f851 ± 88 LPA" in page
    assert "11.03.2031 bis 22.03.2031" in page
    assert "2,851.2" not in page


@pytest.mark.parametrize(("n", "words"), [(0, "no runs"), (1, "1 run"), (1200, "1,200 runs")])
def test_a_count_chooses_its_form(n, words):
    """None, one and many have their own words."""
    assert ENGLISH.say("runs.count", n=n) == words


def test_values_cannot_bring_tags_or_places():
    """A value that looks like a tag or like a place of the catalogue is printed as it stands."""
    assert ENGLISH.markup("document.batch", batch="<b>{house}") == "batch &lt;b&gt;{house}"


def test_pages_are_letter_and_hold_their_words(letter):
    """Every page is 8.5 by 11 inches, upright or lying, and no word, not even a German one, stands in its margins."""
    slack = 1.0
    pages = re.split(r"<page ", pdf_text(letter, "-bbox"))[1:]
    assert len(pages) > 5
    for page in pages:
        size = tuple(float(found) for found in re.findall(r'(?:width|height)="([\d.]+)"', page)[:2])
        assert size in ((612.0, 792.0), (792.0, 612.0))
        margin = (20 if size[0] < size[1] else 11.2) / 25.4 * 72
        for least, most in re.findall(r'<word xMin="([\d.-]+)" yMin="[\d.-]+" xMax="([\d.-]+)"', page):
            assert float(least) > margin - slack
            assert float(most) < size[0] - margin + slack


def test_german_document_says_its_language(letter):
    """The document is tagged as German, the rule book's passages in it as English, and every head has its scope."""
    with pikepdf.open(letter) as document:
        assert str(document.Root.Lang) == "de"
        elements = [
            item
            for item in document.objects
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/StructElem"
        ]
        assert "en" in {str(item.get("/Lang")) for item in elements if item.S == "/Span"}
        heads = [str(item.A.get("/Scope")) for item in elements if item.S == "/TH"]
        assert {"/Column", "/Row"} == set(heads)
        figures = [item for item in elements if item.S == "/Figure"]
        assert figures
        assert all(str(item.get("/Alt", "")) for item in figures)


@pytest.mark.parametrize("code", [GIN, EMPTY])
def test_heads_go_down_step_by_step(batches, code):
    """One head of the first level, and none that skips a level on the way down."""
    page = Visible()
    page.feed(dossier_html(batches[code]))
    assert page.levels.count(1) == 1
    assert page.levels[0] == 1
    assert all(after - before <= 1 for before, after in zip(page.levels, page.levels[1:], strict=False))


def test_unknown_language_or_paper_is_refused():
    """The profile's sentence names what may stand there."""
    profile = '[house]\nname = "A"\ntime_zone = "UTC"\nsite_altitude_m = 1.0\n[documents]\nlanguage = "xx"\n'
    with pytest.raises(SettingsError, match=r'\[documents\] language: "xx" is none of en, de'):
        parse_house(profile, "house.toml")
