"""Tables on the screen: what a file says is printed as it is written there, never taken for markup or for control."""

from typing import Any


def console(**how: Any) -> Any:
    """A rich console that knows no markup, no emoji and colours no words: "[mbar]" is part of a name.

    Parameters
    ----------
    **how
        As of `rich.console.Console`.
    """
    from rich.console import Console

    return Console(markup=False, emoji=False, highlight=False, **how)


def text(*parts: str | tuple[str, str]) -> Any:
    """A text of the screen: parts, each as it is or with a style; characters that would steer the screen are shown.

    >>> text("VOD[red]\\x1b[2J", ("x", "dim")).plain
    'VOD[red]\\\\x1b[2Jx'
    """
    from rich.text import Text

    styled = [(part, "") if isinstance(part, str) else part for part in parts]
    return Text.assemble(*((without_control(words), style) for words, style in styled))


def without_control(words: str) -> str:
    """The words with escapes and other characters that steer a screen written out; line ends stay.

    >>> without_control("a\\x1b]0;b\\x07\\u202ec\\nd")
    'a\\\\x1b]0;b\\\\x07\\\\u202ec\\nd'
    """
    return "".join(
        letter if letter == "\n" or not _steers(letter) else letter.encode("unicode_escape").decode()
        for letter in words
    )


def _steers(letter: str) -> bool:
    """Control characters, and those that turn the direction of writing or show nothing (Unicode: Cc and Cf)."""
    import unicodedata

    return unicodedata.category(letter) in ("Cc", "Cf") and letter != "\u00ad"
