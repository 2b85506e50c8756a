"""WeasyPrint: modules of ours take it from here.

It is imported without its search for libraries (see `renderer_patches`), where that finds them all.
"""

from gaugebook.reports.page.renderer_patches import without_library_search

try:
    with without_library_search():
        from weasyprint import CSS, HTML, Attachment, svg
except OSError:  # libraries that the loader does not find by name
    from weasyprint import CSS, HTML, Attachment, svg
from weasyprint.css.properties import INITIAL_VALUES
from weasyprint.draw.text import draw_first_line
from weasyprint.matrix import Matrix
from weasyprint.svg.path import path
from weasyprint.svg.text import Style, TextBox
from weasyprint.text.ffi import pango
from weasyprint.text.fonts import FontConfiguration
from weasyprint.text.line_break import create_layout, line_size
from weasyprint.urls import URLFetcher, URLFetcherResponse

__all__ = [
    "CSS", "HTML", "INITIAL_VALUES", "Attachment", "FontConfiguration", "Matrix", "Style", "TextBox", "URLFetcher",
    "URLFetcherResponse", "create_layout", "draw_first_line", "line_size", "pango",
    "path", "svg",
]  # fmt: skip
