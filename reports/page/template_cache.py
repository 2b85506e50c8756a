"""Templates compiled once and kept, since to compile those of a dossier took a third of our own part of it.

They lie where Python keeps its own compiled modules, under the same owner and as little trusted by others. Nothing of a
language or of our code may be worked into them: see `nothing_worked_in`.
"""

import contextlib
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

from jinja2 import FileSystemBytecodeCache, __version__, pass_eval_context
from jinja2.bccache import Bucket

HERE = Path(__file__).parent
FOLDER = HERE / "__pycache__" / "templates"
# What is put into every template while it is compiled; what another edition of it compiled is not read.
_PUT_IN = sha256((HERE / "exact_attributes.py").read_bytes()).hexdigest()[:12]


class KeptTemplates(FileSystemBytecodeCache):
    """Compiled templates in files, by the hash of their source; where none can be written it goes on without."""

    def __init__(self, folder: Path = FOLDER) -> None:
        super().__init__(str(folder), f"jinja-{__version__}-{_PUT_IN}-%s.bin")

    def load_bytecode(self, bucket: Bucket) -> None:
        """Fill the bucket from its file, if there is one that can be read."""
        with contextlib.suppress(OSError):
            super().load_bytecode(bucket)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Write the bucket to its file."""
        with contextlib.suppress(OSError):
            Path(self.directory).mkdir(parents=True, exist_ok=True)
            super().dump_bytecode(bucket)


def nothing_worked_in(finalize: Callable[[Any], Any]) -> dict[str, Any]:
    """Options of an environment whose compiled templates hold nothing but the template.

    Jinja works out what is constant while it compiles, filters and `finalize` on constants too, so that a template
    compiled for one language would speak it in another. It does not where `finalize` asks for the context.
    """

    @pass_eval_context
    def when_shown(_context: Any, value: Any) -> Any:
        return finalize(value)

    return {"optimized": False, "finalize": when_shown}
