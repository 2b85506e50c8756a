"""Which columns of a log may be read as numbers at once, without making text of each cell first."""

from gaugebook.pipeline.received.source_map import SourceMap
from gaugebook.pipeline.typed.kinds import RECORDS


def number_columns(source_map: SourceMap) -> list[str]:
    """The columns of tags in a wide log that alone takes a file's rows and writes plain numbers with a decimal point.

    An eighth of the time of a long log went into making text of them and numbers of the text.
    """
    if len(source_map.records) != 1:
        return []
    section, read = source_map.records[0], source_map.read
    is_plain = read.decimal == "." and not read.thousands and not read.blank
    if not RECORDS[section.kind].is_log or section.where or not is_plain:
        return []
    elsewhere = {column.column for column in section.columns.values()}
    tags = [column for column in section.wide.values() if column.also is None]
    return [column.column for column in tags if column.column not in elsewhere]
