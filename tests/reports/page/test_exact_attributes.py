"""What stands in an attribute is never respelled."""

from html.parser import HTMLParser

import pytest
from jinja2 import DictLoader, Environment, TemplateSyntaxError

from gaugebook.reports.page.exact_attributes import ExactAttributes
from gaugebook.reports.page.template_cache import nothing_worked_in
from gaugebook.reports.page.wording import shown

LONG = "yield_against_prediction_rye-oat_mash-4d3e7cf4"  # the address of a chart, longer than a column holds
PAGE = """{% macro link(to) %}<a class="nb{% if to %} to{% endif %}" href='#{{ to }}'>{{ to }}</a>{% endmacro %}
<!-- it's a "note" --><p title="{{ name }}">{{ link(name) }} isn't
"{{ name }}"{% if name %}<br/>{{ name }}{% endif %}</p>"""


class Seen(HTMLParser):
    """Attributes and texts, as a browser reads them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.attributes: list[tuple[str, str | None]] = []
        self.texts: list[str] = []
        self.feed(page)

    def handle_starttag(self, _tag, attrs):
        self.attributes += attrs

    def handle_data(self, data):
        self.texts.append(data)


def filled(template: str, name: str) -> Seen:
    environment = Environment(
        loader=DictLoader({"page": template}), autoescape=True, extensions=[ExactAttributes], **nothing_worked_in(shown)
    )
    return Seen(environment.get_template("page").render(name=name))


@pytest.mark.parametrize("name", [LONG, LONG + '"><script>', "a\u202eb", "x" * 300])
def test_an_attribute_holds_what_was_put_in(name):
    """Long words, quotes, invisible characters and long texts: an attribute has them exactly, between tags they are
    made fit to print; quotes and comments in the text lead nobody astray."""
    seen = filled(PAGE, name)
    attributes = dict(seen.attributes)
    assert (attributes["title"], attributes["href"], attributes["class"]) == (name, f"#{name}", "nb to")
    texts = "".join(seen.texts)
    assert name not in texts and texts.count(str(shown(name))) == 3


def test_a_value_in_a_tag_stands_in_quotes():
    """A value in a tag and in no quotes could end it; such a template is refused."""
    with pytest.raises(TemplateSyntaxError, match="stands in quotes"):
        filled("<td class={{ name }}>", "a")
