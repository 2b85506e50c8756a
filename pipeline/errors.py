"""ParseErrors in use, each one clear sentence for the person at the keyboard.

GaugebookError
├── BookError             the book is missing, in use, damaged or of another edition
├── SettingsError         the house profile, a source map or the rule book says something that cannot be
├── FileRefused           a received file cannot be read as a whole
├── RowsLost              rows of a file are not all accounted for, which is a fault of the program
└── UnknownRecord         a batch, lot or run that the book does not hold

ParseErrors in *data* are not exceptions but rows of typed.refused: the work goes on and shows all of them.
"""


class GaugebookError(Exception):
    """Something that could not be done, said in one sentence with what to do; exit status 2."""


class BookError(GaugebookError):
    """The book cannot be opened or written."""


class SettingsError(GaugebookError):
    """A settings file is wrong; the sentence names file, key, value and what was expected.

    Attributes
    ----------
    key : str or None
        The key of the table that is at fault, where one is.
    """

    def __init__(self, sentence: str, key: str | None = None) -> None:
        super().__init__(sentence)
        self.key = key


class FileRefused(GaugebookError):
    """A received file is refused whole; the sentence names the file and the reason.

    Attributes
    ----------
    code : str
        Stable name of the kind of fault, apart from its wording.
    """

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


class RowsLost(GaugebookError):
    """Rows that came in and are neither kept, held, refused nor passed over; nothing of the file is recorded."""


class UnknownRecord(GaugebookError):
    """Something was asked for by a name that the book does not hold."""
